//! Random histories of two leads, held to the second replay: lists of subjects in any order, wrong answers, times in the
//! past, strikes, merges in the middle of a day.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use proptest::prelude::*;

use cladlog::building::{Figure, Job, SubjectIx, read_job};
use cladlog::day::{Book, DecideError, DefectState, Given, RecordStep, Request, Value, WindowRow, decide, set_up};
use cladlog::moment::Moment;
use cladlog::record::{
    AcknowledgeCaution, Body, CloseDay, CloseDefect, ConcedeDefect, DefectId, Draft, EndStoppage, Entry, EntryId,
    Heads, JoinDay, LeaveDay, NO_PREVIOUS, OpenDay, OpenDefect, RefuseHold, ReleaseHold, ReviseJob, StartStoppage,
    Strike, TakeReading, unite,
};
use cladlog::sequence::{self, HoldIx, Sequence, StepIx};

use super::second::{Outcome, Second};
use super::site::FULL;
use crate::harness::root;

/// Steps with the subjects that they are done on, lists in any order among them, and the ask of the step.
const STEPS: [(&str, &str, &[&str]); 15] = [
    ("access", "clear", &["job"]),
    ("frame", "flat", &["N", "E", "E,N", "N,E"]),
    (
        "course",
        "hung",
        &["N/C1..9", "N/C3,N/C1,N/C2", "E/C4..4,E/C1..3", "N/C2", "E/C2,E/C1", "N/C6,N/C4..5,E/C3", "E/C1"],
    ),
    ("level", "out", &["N/C1,N/C3", "N/C6,N/C9", "E/C1", "E/C4,E/C3", "N/C2"]),
    ("cap", "", &["N/C9", "E/C4,N/C9", "E/C4"]),
    ("head", "", &["N/O1"]),
    ("clean", "", &["N/J1..4", "N/J2,N/J1", "E/J1..2", "N/O1", "N/J1"]),
    ("prime", "", &["N/J1", "N/J3,N/J1..2", "N/J4,E/J2", "E/J1", "N/J1", "N/O1,N/J1"]),
    ("gun", "", &["N/J1", "N/J2,N/J1", "N/J4,E/J2", "E/J1", "N/J1..4", "N/O1"]),
    ("tape", "", &["N/J1", "N/J2,N/J1", "E/J2,N/J4", "E/J1", "N/J1,N/O1"]),
    ("bond", "wiped", &["NE"]),
    ("close-corner", "", &["NE"]),
    ("tag", "", &["job"]),
    ("wash", "", &["job"]),
    ("coat", "", &["job"]),
];

const WALLS: [&str; 4] = ["N", "E", "N,E", "E,N"];

/// One thing that somebody tries.
#[derive(Debug, Clone)]
struct Attempt {
    /// In whose file: Lea's, or Ivo's.
    of_ivo: bool,
    what: What,
    /// Which subject, person, entry, … of those there are.
    pick: usize,
    /// Minutes after the last attempt.
    minutes: i64,
    /// How many minutes ago it happened.
    ago: i64,
    anyway: bool,
}

#[derive(Debug, Clone)]
enum What {
    OpenDay,
    JoinDay,
    LeaveDay,
    CloseDay,
    Acknowledge,
    /// A step, and which of its subjects gets a wrong answer.
    Step(usize, Option<usize>),
    Release,
    Refuse,
    Reading,
    /// Work stops, for rain or for something else.
    Stop,
    Resume,
    Strike,
    OpenDefect,
    CloseDefect,
    Concede,
    /// The figures of the job are others.
    Revise,
    /// Takes over what the other lead recorded.
    Merge,
}

fn what() -> impl Strategy<Value = What> {
    let step =
        (0..STEPS.len(), proptest::option::weighted(0.15, 0usize..9)).prop_map(|(step, wrong)| What::Step(step, wrong));
    let sealing = (5usize..13).prop_map(|step| What::Step(step, None));
    prop_oneof![
        3 => Just(What::OpenDay),
        1 => Just(What::JoinDay),
        2 => Just(What::LeaveDay),
        1 => Just(What::CloseDay),
        3 => Just(What::Acknowledge),
        12 => step,
        10 => sealing,
        4 => Just(What::Release),
        1 => Just(What::Refuse),
        5 => Just(What::Reading),
        1 => Just(What::Stop),
        1 => Just(What::Resume),
        2 => Just(What::Strike),
        1 => Just(What::OpenDefect),
        1 => Just(What::CloseDefect),
        1 => Just(What::Concede),
        1 => Just(What::Revise),
        2 => Just(What::Merge),
    ]
}

fn attempts() -> impl Strategy<Value = Vec<Attempt>> {
    let minutes = prop_oneof![2 => Just(0i64), 5 => 1i64..40, 1 => 40i64..400];
    let ago = prop_oneof![6 => Just(0i64), 1 => 1i64..90];
    let one = (proptest::bool::weighted(0.3), what(), 0usize..64, minutes, ago, proptest::bool::weighted(0.1));
    let attempt =
        one.prop_map(|(of_ivo, what, pick, minutes, ago, anyway)| Attempt { of_ivo, what, pick, minutes, ago, anyway });
    proptest::collection::vec(attempt, 1..40)
}

/// A lead's file.
struct File {
    device: &'static str,
    by: &'static str,
    book: Book,
}

/// Two leads on one job.
struct Leads {
    job: Job,
    sequence: Sequence,
    now: Moment,
    files: [File; 2],
}

impl Leads {
    fn begin() -> Self {
        let text = std::fs::read_to_string(root().join("tests/rules/full.toml")).unwrap();
        let (job, sequence) = (read_job(FULL).unwrap(), sequence::read(&text).unwrap());
        let now = Moment::parse_from_rfc3339("2026-03-02T07:00:00+13:00").unwrap();
        let set_up = Body::JobAdded(set_up(job.clone(), &sequence).unwrap());
        let first = entry("lea", "Lea", set_up, &Heads::new(), now, now);
        let open = |device, by| File { device, by, book: Book::open_by(device, vec![first.clone()]).unwrap() };
        Self { files: [open("lea", "Lea"), open("ivo", "Ivo")], job, sequence, now }
    }

    /// Begins on a day on which the frames are checked and everything is released, in both files.
    fn ready() -> Self {
        let mut leads = Self::begin();
        let step = |step, on: &str, answer| request_step(step, on, vec![(None, answer)], false);
        let release = |hold: &str, on: &str| -> Box<dyn Request> {
            let (hold, subject, person, how) = (hold.into(), on.into(), "Ines".into(), "on site".into());
            Box::new(ReleaseHold { hold, subject, person, how, evidence: None })
        };
        let requests: [Box<dyn Request>; 7] = [
            Box::new(OpenDay { crew: vec!["Lea".into()], ..OpenDay::default() }),
            step(0, "job", "yes"),
            step(1, "N,E", "1"),
            release("cover", "N,E"),
            release("start-sealing", "job"),
            Box::new(AcknowledgeCaution { caution: "dust".into(), people: vec!["Lea".into()] }),
            Box::new(reading("N,E", 0)),
        ];
        for request in requests {
            let now = leads.now;
            assert!(!leads.files[0].record(request.as_ref(), now, now).unwrap().is_empty());
        }
        let [lea, ivo] = &mut leads.files;
        ivo.merge(lea);
        leads
    }

    /// Tries one thing; what was recorded, unless it was refused.
    fn attempt(&mut self, attempt: &Attempt) -> Result<Vec<Entry>, DecideError> {
        self.now += TimeDelta::minutes(attempt.minutes);
        let (now, at) = (self.now, self.now - TimeDelta::minutes(attempt.ago));
        let [lea, ivo] = &mut self.files;
        let (file, other) = if attempt.of_ivo { (ivo, lea) } else { (lea, ivo) };
        if let What::Merge = attempt.what {
            file.merge(other);
            return Ok(Vec::new());
        }
        let Some(request) = file.request(attempt) else { return Ok(Vec::new()) };
        file.record(request.as_ref(), at, now)
    }

    /// What a record comes to, by the second replay.
    fn second(&self, record: &[Entry]) -> Outcome {
        Second::new(&self.job, &self.sequence, record).outcome(self.now)
    }

    /// What a book comes to, by the program.
    fn first(&self, book: &Book) -> Outcome {
        let state = &book.state;
        let defect = |defect: &cladlog::day::Defect| {
            (defect.id.to_string(), (defect.subject.clone(), defect.state.word().to_owned()))
        };
        let hold = |(_, _, hold): (HoldIx, SubjectIx, cladlog::day::HoldStatus)| {
            ((hold.key, hold.subject), hold.state.word().to_owned())
        };
        let window = |run: &cladlog::day::Run<'_>| {
            let row = WindowRow::of(run, state, self.now);
            ((row.key, row.subject), (row.state.word().to_owned(), row.began_at, row.opens_at, row.closes_at))
        };
        let complete = state.work().filter(|(step, on)| state.complete(*step, *on, self.now));
        let id = |(step, on): (StepIx, SubjectIx)| {
            (state.sequence().steps[step].key.clone(), state.subjects.get(on).to_string())
        };
        Outcome {
            // What is void is listed by the program alone: the record as it reads now says nothing of it.
            defects: state.defects.iter().filter(|defect| defect.state != DefectState::Void).map(defect).collect(),
            holds: state.holds().into_iter().map(hold).collect(),
            windows: state.runs().iter().map(window).collect(),
            complete: complete.map(id).collect(),
        }
    }
}

impl File {
    /// Decides a request and files what it comes to.
    fn record(&mut self, request: &dyn Request, at: Moment, now: Moment) -> Result<Vec<Entry>, DecideError> {
        let decision = decide(&self.book, request, self.by, at, now)?;
        let mut book = self.book.clone();
        let mut recorded = Vec::new();
        for body in decision.bodies.clone() {
            let entry = entry(self.device, self.by, body, book.heads(), at, now);
            book.add(entry.clone()).unwrap();
            recorded.push(entry);
        }
        let own: Vec<EntryId> = recorded.iter().map(Entry::id).collect();
        decision.check_dependent(&self.book.state, &book.state, &own)?;
        self.book = book;
        Ok(recorded)
    }

    fn merge(&mut self, other: &Self) {
        let new = unite(&self.book.entries, other.book.entries.clone()).unwrap().new;
        self.book.refresh(new).unwrap();
    }

    /// A step on a list of subjects, one of which may get a wrong answer.
    fn step(&self, step: usize, on: &str, wrong: Option<usize>, anyway: bool) -> Box<dyn Request> {
        let (right, bad) = if matches!(STEPS[step].1, "flat" | "out") { ("1", "9") } else { ("yes", "no") };
        // What may be left unanswered is, unless it is wrong.
        let mut answers = if STEPS[step].1 == "wiped" { Vec::new() } else { vec![(None, right)] };
        if let Some(wrong) = wrong {
            let subjects = self.book.state.subjects.parse(on).unwrap();
            answers.push((Some(self.book.state.subjects.get(subjects[wrong % subjects.len()]).to_string()), bad));
        }
        request_step(step, on, answers, anyway)
    }

    /// What somebody with this file asks for; nothing where there is nothing of the sort to ask for.
    fn request(&self, attempt: &Attempt) -> Option<Box<dyn Request>> {
        let pick = attempt.pick;
        let wall = || WALLS[pick % WALLS.len()].to_owned();
        let crew = || -> Vec<String> {
            let crews: [&[&str]; 4] = [&["Lea"], &["Lea", "Ivo"], &["Ivo"], &["Ivo", "Bea", "Lea"]];
            crews[pick % crews.len()].iter().map(|name| (*name).to_owned()).collect()
        };
        let (hold, on) = if pick.is_multiple_of(3) { ("start-sealing", "job".to_owned()) } else { ("cover", wall()) };
        let state = &self.book.state;
        let defect =
            |number: usize| state.defects.get(number % state.defects.len().max(1)).map(|defect| defect.id.clone());
        Some(match &attempt.what {
            What::OpenDay => Box::new(OpenDay { crew: crew(), ..OpenDay::default() }),
            What::JoinDay => Box::new(JoinDay { crew: crew() }),
            What::LeaveDay => Box::new(LeaveDay { crew: crew() }),
            What::CloseDay => {
                let crew = state.open_day()?.people();
                Box::new(CloseDay { hours: crew.map(|one| (one.name.to_owned(), 8.0)).collect(), note: None })
            }
            What::Acknowledge => Box::new(AcknowledgeCaution { caution: "dust".into(), people: crew() }),
            What::Step(step, wrong) => {
                let (_, _, lists) = STEPS[*step];
                self.step(*step, lists[pick % lists.len()], *wrong, attempt.anyway)
            }
            What::Release => {
                let person = ["Ines", "Ines", "Lea", "Bea"][pick % 4].to_owned();
                Box::new(ReleaseHold { hold: hold.into(), subject: on, person, how: "on site".into(), evidence: None })
            }
            What::Refuse => {
                Box::new(RefuseHold { hold: hold.into(), subject: on, person: "Ines".into(), why: "not yet".into() })
            }
            What::Reading => Box::new(reading(&wall(), pick / WALLS.len())),
            What::Stop => Box::new(StartStoppage {
                subject: if pick.is_multiple_of(2) { "job".to_owned() } else { wall() },
                cause: "no work".to_owned(),
                rain: !pick.is_multiple_of(3),
                ..StartStoppage::default()
            }),
            What::Resume => {
                Box::new(EndStoppage { stoppage: Some(state.open_stoppages().next()?.entry.clone()), note: None })
            }
            What::Strike => {
                let ids: Vec<EntryId> = self.book.entries.iter().map(Entry::id).collect();
                Box::new(Strike {
                    entry: ids[pick * 7 % ids.len()].clone(),
                    why: "a slip".into(),
                    anyway: attempt.anyway,
                })
            }
            What::OpenDefect => Box::new(OpenDefect { subject: wall(), what: "torn wrap".into() }),
            What::CloseDefect => {
                Box::new(CloseDefect { defect: defect(pick)?, person: "Bea".into(), how: "taped".into() })
            }
            What::Concede => {
                Box::new(ConcedeDefect { defect: defect(pick)?, person: "Dag".into(), why: "may stand".into() })
            }
            What::Revise => Box::new(revised(&state.job, pick)),
            What::Merge => return None,
        })
    }
}

fn request_step(step: usize, on: &str, answers: Vec<(Option<String>, &str)>, anyway: bool) -> Box<dyn Request> {
    let (key, ask, _) = STEPS[step];
    let given = |(subject, value): (Option<String>, &str)| Given {
        subject,
        key: ask.to_owned(),
        value: Value::Typed(value.to_owned()),
    };
    let answers = if ask.is_empty() { Vec::new() } else { answers.into_iter().map(given).collect() };
    let anyway = anyway.then(|| "it happened".to_owned());
    Box::new(RecordStep { step: key.to_owned(), subject: on.to_owned(), answers, began: None, anyway })
}

/// The same building with other figures: some stricter than the sequence's own, some wider, some no longer given.
fn revised(job: &Job, pick: usize) -> ReviseJob {
    let figures: [&[(&str, f64)]; 4] =
        [&[], &[("primer-open", 90.0)], &[("primer-open", 500.0), ("flat", 12.0)], &[("wind", 8.0), ("flat", 5.0)]];
    let figure = |(key, value): &(&str, f64)| Figure {
        key: (*key).to_owned(),
        value: *value,
        paper: "sheets".to_owned(),
        clause: "table 1".to_owned(),
    };
    let figures = figures[pick % figures.len()].iter().map(figure).collect();
    let building = Box::new(Job { figures, ..job.clone() });
    ReviseJob { building, changes: Vec::new(), why: "a new sheet".to_owned(), anyway: false }
}

/// Weather: mostly fit for sealing, from cold to hot; some of it wet, freezing or windy, and some of it read in part.
fn reading(on: &str, pick: usize) -> TakeReading {
    let whole = |surface_c: f64, wind_kmh: Option<f64>, rain: bool| TakeReading {
        air_c: Some(surface_c),
        humidity_pct: Some(60.0),
        surface_c: Some(surface_c),
        wind_kmh,
        rain,
        ..TakeReading::default()
    };
    let part = TakeReading::default;
    let reading = match pick % 14 {
        0 => whole(18.0, Some(10.0), false),
        1 => whole(10.0, Some(10.0), false),
        2 => whole(20.0, Some(40.0), false),
        3 => whole(33.0, Some(10.0), false),
        4 => whole(7.0, Some(10.0), false),
        5 => whole(18.0, None, false),
        6 => whole(18.0, Some(60.0), false),
        7 => whole(18.0, Some(10.0), true),
        8 => whole(-1.0, Some(10.0), false),
        9 => TakeReading { surface_c: Some(22.0), ..part() },
        10 => TakeReading { beaufort: Some(3), ..part() },
        11 => TakeReading { rain: true, ..part() },
        12 => TakeReading { air_c: Some(16.0), humidity_pct: Some(70.0), ..part() },
        _ => TakeReading { dry: true, ..part() },
    };
    // Some of it is read once for every wall.
    let subject = if pick % 5 == 4 { "job" } else { on };
    TakeReading { subject: subject.to_owned(), ..reading }
}

fn entry(device: &str, by: &str, body: Body, heads: &Heads, at: Moment, now: Moment) -> Entry {
    let draft = Draft { job: "test".into(), happened_at: at, recorded_at: now, by: by.into(), body, rehearsal: true };
    let (seq, prev) = heads.get(device).map_or((0, NO_PREVIOUS), |(seq, hash)| (*seq, hash.as_str()));
    let others = heads.iter().filter(|(other, _)| *other != device);
    let seen = others.map(|(other, (seq, _))| (other.clone(), *seq)).collect();
    Entry::finalize(draft, device, seq + 1, prev, seen).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Defects, hold points, windows and what is complete are what the second replay finds, in each lead's file and in
    /// both together, merged either way round.
    #[test]
    fn the_record_comes_to_what_the_second_replay_finds(ready in any::<bool>(), attempts in attempts()) {
        let mut leads = if ready { Leads::ready() } else { Leads::begin() };
        for attempt in &attempts {
            let _refused = leads.attempt(attempt);
        }
        for file in &leads.files {
            prop_assert_eq!(leads.first(&file.book), leads.second(&file.book.entries));
        }
        let union = |one: usize, other: usize| {
            let mut entries = leads.files[one].book.entries.clone();
            entries.extend(unite(&entries, leads.files[other].book.entries.clone()).unwrap().new);
            (leads.first(&Book::open(entries.clone()).unwrap()), leads.second(&entries))
        };
        let (first, second) = union(0, 1);
        prop_assert_eq!(&first, &second);
        prop_assert_eq!((first, second), union(1, 0));
    }

    /// What is recorded without `--anyway` opens no defect, on itself or on what was recorded before, but for a wrong
    /// answer, a refused release, and what a person reports.
    #[test]
    fn what_is_accepted_is_in_order(ready in any::<bool>(), attempts in attempts()) {
        let mut leads = if ready { Leads::ready() } else { Leads::begin() };
        for attempt in attempts.iter().filter(|attempt| !attempt.anyway) {
            let open = |leads: &Leads| -> BTreeSet<DefectId> {
                let state = &leads.files[usize::from(attempt.of_ivo)].book.state;
                state.open_defects().map(|defect| defect.id.clone()).collect()
            };
            let before = open(&leads);
            let entries = leads.attempt(attempt).unwrap_or_default();
            let recorded: Vec<EntryId> = entries.iter().map(Entry::id).collect();
            let book = &leads.files[usize::from(attempt.of_ivo)].book;
            let struck: Vec<&Entry> = entries.iter().filter_map(|entry| book.entry(entry.body.acts_on()?)).collect();
            // What the weather was, who was there, what others did, and what was refused, is so.
            let is_told = |of_itself: bool| match attempt.what {
                What::Step(_, wrong) => wrong.is_some(),
                What::Refuse | What::OpenDefect => true,
                What::Reading | What::JoinDay | What::Merge | What::Revise => !of_itself,
                _ => false,
            };
            let after = open(&leads);
            for new in after.difference(&before) {
                // What a struck entry had mended is open again.
                if matches!(attempt.what, What::Strike) && struck.iter().any(|entry| entry.had_seen(&new.entry)) {
                    continue;
                }
                let of_itself = recorded.contains(&new.entry);
                prop_assert!(is_told(of_itself), "{attempt:?} opens {new} by {recorded:?}");
            }
        }
    }

    /// The order in which subjects are typed changes nothing of what is recorded, or of why it is not.
    #[test]
    fn the_order_of_a_list_changes_nothing(ready in any::<bool>(), attempts in attempts(), turn in 0usize..4) {
        let mut leads = if ready { Leads::ready() } else { Leads::begin() };
        for attempt in &attempts {
            let file = &leads.files[usize::from(attempt.of_ivo)];
            if let (What::Step(step, wrong), at) = (&attempt.what, leads.now - TimeDelta::minutes(attempt.ago)) {
                let list = STEPS[*step].2[attempt.pick % STEPS[*step].2.len()];
                let mut turned: Vec<&str> = list.split(',').collect();
                let by = turn % turned.len();
                turned.rotate_left(by);
                let tried = |list: &str| {
                    let request = file.step(*step, list, *wrong, attempt.anyway);
                    decide(&file.book, request.as_ref(), file.by, at, leads.now)
                        .map(|decision| decision.bodies)
                        .map_err(|error| error.to_string())
                };
                prop_assert_eq!(tried(list), tried(&turned.join(",")));
            }
            let _refused = leads.attempt(attempt);
        }
    }
}
