//! Properties that hold whatever a crew does, in whatever order.

use chrono::TimeDelta;
use proptest::prelude::*;

use cladlog::building::read_job;
use cladlog::day::{Book, DecideError, Given, RecordStep, Request, Value, decide, replay, set_up};
use cladlog::moment::Moment;
use cladlog::record::{
    AcknowledgeCaution, Body, CloseDay, Draft, Entry, EntryId, NO_PREVIOUS, OpenDay, ReleaseHold, Strike, TakeReading,
};
use cladlog::refusal::Rule;
use cladlog::sequence;

use super::site::JOB;
use crate::harness::root;

/// One thing that somebody tries: what, where, how many minutes after the last.
#[derive(Debug, Clone)]
struct Attempt {
    what: usize,
    on: usize,
    value: u8,
    minutes: i64,
    anyway: bool,
}

fn attempts() -> impl Strategy<Value = Vec<Attempt>> {
    let one = (0usize..12, 0usize..8, 0u8..6, 0i64..90, proptest::bool::weighted(0.1))
        .prop_map(|(what, on, value, minutes, anyway)| Attempt { what, on, value, minutes, anyway });
    proptest::collection::vec(one, 1..40)
}

fn request(attempt: &Attempt, ids: &[EntryId]) -> Box<dyn Request> {
    let wall = ["N", "E"][attempt.on % 2].to_owned();
    let course = ["N/C1", "N/C1..3", "N/C4", "E/C1..2", "E/C1", "N/C1,E/C1", "N/C7", "E/C2"][attempt.on].to_owned();
    let joint = ["N/J1", "N/J2", "E/J1", "N/J1..4", "N/J3", "N/J4", "E/J1", "N/J2,E/J1"][attempt.on].to_owned();
    let step = |step: &str, subject: String, answers: Vec<Given>| -> Box<dyn Request> {
        let anyway = attempt.anyway.then(|| "it happened".to_owned());
        Box::new(RecordStep { step: step.to_owned(), subject, answers, began: None, anyway })
    };
    let given =
        |key: &str| vec![Given { subject: None, key: key.to_owned(), value: Value::Typed(attempt.value.to_string()) }];
    let crew = || vec!["Lea".to_owned(), "Ivo".to_owned()];
    match attempt.what {
        0 => Box::new(OpenDay { crew: crew(), ..OpenDay::default() }),
        1 if attempt.on == 0 => {
            Box::new(CloseDay { hours: crew().into_iter().map(|name| (name, 8.0)).collect(), note: None })
        }
        1 | 2 => step("frame", wall, given("flat")),
        3 => Box::new(ReleaseHold {
            hold: "cover".into(),
            subject: wall,
            person: ["Ines", "Lea", "Bea", "Ines"][attempt.on % 4].into(),
            how: "on site".into(),
            evidence: None,
        }),
        4 => Box::new(AcknowledgeCaution { caution: "dust".into(), people: crew() }),
        5 => step("course", course, vec![]),
        6 => step("level", course, given("out")),
        7 => step("prime", joint, vec![]),
        8 => step("gun", joint, vec![]),
        9 => Box::new(TakeReading {
            subject: wall,
            air_c: Some(15.0),
            humidity_pct: Some(60.0),
            surface_c: Some(f64::from(attempt.value) * 4.0),
            rain: attempt.on == 7,
            ..TakeReading::default()
        }),
        10 if !ids.is_empty() => Box::new(Strike {
            entry: ids[(attempt.on * 7 + attempt.value as usize) % ids.len()].clone(),
            why: "a slip".into(),
            anyway: attempt.anyway,
        }),
        _ => step("coat", wall, vec![]),
    }
}

fn sealed(book: &[Entry], body: Body, at: Moment, now: Moment) -> Entry {
    let prev = book.last().map_or(NO_PREVIOUS, |entry| &entry.hash);
    let draft =
        Draft { job: "test".into(), happened_at: at, recorded_at: now, by: "Lea".into(), body, rehearsal: true };
    Entry::finalize(draft, "prop", book.len() as u64 + 1, prev, Default::default()).unwrap()
}

fn started() -> (Vec<Entry>, Moment) {
    let text = std::fs::read_to_string(root().join("tests/rules/small.toml")).unwrap();
    let body = Body::JobAdded(set_up(read_job(JOB).unwrap(), &sequence::read(&text).unwrap()).unwrap());
    let now = Moment::parse_from_rfc3339("2026-03-02T07:00:00+13:00").unwrap();
    (vec![sealed(&[], body, now, now)], now)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// What `decide` lets through, `replay` finds in order: it opens no defect but for a measurement, a refused
    /// hold point, something told anyway, or what a later strike or reading took the footing from.
    #[test]
    fn decide_never_yields_an_entry_that_replay_finds_out_of_order(attempts in attempts()) {
        let (mut entries, mut now) = started();
        for attempt in &attempts {
            now += TimeDelta::minutes(attempt.minutes);
            let book = Book::open(entries.clone()).unwrap();
            let ids: Vec<EntryId> = entries.iter().map(Entry::id).collect();
            let asked = request(attempt, &ids);
            let bodies = match decide(&book, asked.as_ref(), "Lea", now, now) {
                Ok(bodies) => bodies,
                Err(DecideError::Refused(refusal)) => {
                    prop_assert!(!refusal.why.is_empty() && !refusal.clears.to_string().is_empty());
                    continue;
                }
                Err(error) => {
                    prop_assert!(!error.to_string().is_empty());
                    continue;
                }
            };
            let first = entries.len();
            for body in bodies {
                let entry = sealed(&entries, body, now, now);
                entries.push(entry);
            }
            // One entry after the other comes to the same as all of them from scratch.
            let mut added = book;
            entries[first..].iter().for_each(|entry| drop(added.add(entry.clone()).unwrap()));
            let after = Book::open(entries.clone()).unwrap().state;
            let told = |state: &cladlog::day::State| {
                let tables = state.read_tables();
                let done: Vec<bool> = state.work().map(|(step, on)| state.complete(step, on, now)).collect();
                (tables.struck, tables.holds, tables.defects, done)
            };
            prop_assert_eq!(told(&added.state), told(&after));
            if !attempt.anyway {
                for entry in &entries[first..] {
                    let found = after.defects.iter().find(|defect| {
                        defect.opened_by() == &entry.id() && !matches!(defect.rule, Some(Rule::Answer) | None)
                    });
                    prop_assert!(found.is_none(), "{:?} by {:?}", found, attempt);
                }
            }
        }
    }

    /// The state does not depend on the order in which entries came into the file.
    #[test]
    fn the_state_is_the_same_in_whatever_order_entries_were_filed(attempts in attempts(), turn in 0usize..40) {
        let (mut entries, mut now) = started();
        for attempt in &attempts {
            now += TimeDelta::minutes(attempt.minutes + 1);
            let book = Book::open(entries.clone()).unwrap();
            let ids: Vec<EntryId> = entries.iter().map(Entry::id).collect();
            if let Ok(bodies) = decide(&book, request(attempt, &ids).as_ref(), "Lea", now, now) {
                for body in bodies {
                    let entry = sealed(&entries, body, now, now);
                    entries.push(entry);
                }
            }
        }
        let told = |entries: &[Entry]| {
            let state = replay(entries, None).unwrap();
            let tables = state.read_tables();
            let done: Vec<bool> = state.work().map(|(step, subject)| state.complete(step, subject, now)).collect();
            (tables.struck, tables.holds, tables.defects, done)
        };
        let straight = told(&entries);
        let mut turned = entries.clone();
        let by = turn % turned.len();
        turned.rotate_left(by);
        turned.reverse();
        prop_assert_eq!(straight, told(&turned));
    }
}
