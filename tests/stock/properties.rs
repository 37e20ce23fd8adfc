//! Whatever comes, is used and is struck, in whatever order: what is left is what came less what was taken.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use proptest::prelude::*;

use cladlog::building::read_job;
use cladlog::day::{Book, Given, RecordStep, Request, Value, decide, replay, set_up};
use cladlog::materials::product::Amount;
use cladlog::moment::Moment;
use cladlog::record::{Body, DeliverBatch, Draft, Entry, EntryId, NO_PREVIOUS, OpenDay, StockUse, Strike, TakeStock};
use cladlog::sequence;

use super::site::JOB;
use crate::harness::root;

/// One thing that somebody records: what, of which batch, where, how many thousandths, how long before now.
type Attempt = (usize, usize, usize, i64, i64);

const COURSES: [(&str, i64); 5] = [("N/C1", 2), ("N/C2", 2), ("E/C1", 1), ("E/C2", 1), ("N/C1,E/C1", 3)];

fn request(&(what, batch, on, count, _): &Attempt, ids: &[EntryId]) -> Option<Box<dyn Request>> {
    let batch = ["A", "B", "c 1"][batch].to_owned();
    let count = Amount::typed(&format!("{}", count as f64 / 1000.0)).unwrap();
    let how = [StockUse::Used, StockUse::CutUp, StockUse::ThrownAway, StockUse::SentBack][on % 4];
    Some(match what {
        0 | 1 => Box::new(DeliverBatch { product: "panel".into(), batch, count, ..DeliverBatch::default() }),
        2 | 3 => Box::new(TakeStock {
            product: "panel".into(),
            batch: batch.to_lowercase(),
            subject: "N".into(),
            how,
            count: Some(count),
            ..TakeStock::default()
        }),
        4 | 5 => Box::new(RecordStep {
            step: "hang".into(),
            subject: COURSES[on].0.to_owned(),
            answers: vec![Given { subject: None, key: "label".into(), value: Value::Typed(batch) }],
            began: None,
            anyway: None,
        }),
        _ => Box::new(Strike { entry: ids.get(on * 5 + batch.len())?.clone(), why: "a slip".into(), anyway: true }),
    })
}

/// Delivered less taken, in thousandths, added up from the lines of the record alone.
fn left_by_hand(entries: &[Entry], struck: &BTreeSet<EntryId>) -> i64 {
    let milli = |count: Amount| (count.units() * 1000.0).round() as i64;
    let mut up = BTreeSet::new();
    let counted = entries.iter().filter(|entry| !struck.contains(&entry.id())).map(|entry| match &entry.body {
        Body::BatchDelivered(it) => milli(it.count),
        Body::StockTaken(it) => -milli(it.count.unwrap()),
        Body::StepDone(it) => {
            let label = it.answers["label"].to_string().to_lowercase();
            let columns = COURSES.iter().find(|(id, _)| *id == it.subject).unwrap().1;
            if up.insert((label, it.subject.clone())) { -columns * 1000 } else { 0 }
        }
        _ => 0,
    });
    counted.sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn what_is_left_is_what_came_less_what_was_taken(
        attempts in proptest::collection::vec((0usize..7, 0usize..3, 0usize..5, 1i64..50_000, 0i64..600), 1..30)
    ) {
        let text = std::fs::read_to_string(root().join("tests/stock/small.toml")).unwrap();
        let set_up = set_up(read_job(JOB).unwrap(), &sequence::read(&text).unwrap()).unwrap();
        let mut now = Moment::parse_from_rfc3339("2026-03-02T17:00:00+13:00").unwrap();
        let sealed = |entries: &[Entry], body: Body, at: Moment, now: Moment| {
            let prev = entries.last().map_or(NO_PREVIOUS, |entry| &entry.hash);
            let draft = Draft { job: "test".into(), happened_at: at, recorded_at: now, by: "Lea".into(), body, rehearsal: true };
            Entry::finalize(draft, "prop", entries.len() as u64 + 1, prev, Default::default()).unwrap()
        };
        let began = now - TimeDelta::minutes(700);
        let mut book = Book::open(vec![sealed(&[], Body::JobAdded(set_up), began, now)]).unwrap();
        let open = OpenDay { crew: vec!["Lea".into()], ..OpenDay::default() };
        for body in decide(&book, &open, "Lea", began, now).unwrap() {
            let entry = sealed(&book.entries, body, began, now);
            book.add(entry).unwrap();
        }
        for attempt in &attempts {
            now += TimeDelta::minutes(1);
            let ids: Vec<EntryId> = book.entries.iter().skip(2).map(Entry::id).collect();
            let Some(request) = request(attempt, &ids) else { continue };
            let at = now - TimeDelta::minutes(attempt.4);
            let Ok(bodies) = decide(&book, request.as_ref(), "Lea", at, now) else { continue };
            for body in bodies {
                let entry = sealed(&book.entries, body, at, now);
                book.add(entry).unwrap();
            }
            let ledger = book.state.ledger(now);
            let line = ledger.line("panel").unwrap();
            let struck: BTreeSet<EntryId> = book.state.struck.keys().cloned().collect();
            let by_hand = left_by_hand(&book.entries, &struck);
            prop_assert_eq!((line.sums.left().units() * 1000.0).round() as i64, by_hand);
            // What is left of the batches is what is left of all, for every use here names one.
            let each: i64 = line.batches.iter().map(|batch| (batch.sums.left().units() * 1000.0).round() as i64).sum();
            prop_assert_eq!(each, by_hand);
            // Flags are total, and the state in hand is the one that the whole record comes to.
            let flags = book.state.stock_flags(now).len();
            prop_assert_eq!(replay(&book.entries, None).unwrap().stock_flags(now).len(), flags);
        }
    }
}
