//! A second replay: slow, short, and written from 'How a record is judged' in `docs/sequence-language.md`, not from the
//! program. It keeps nothing between one entry and the next: whatever is asked, it looks through the whole record again.

mod conditions;
mod days;
mod defects;
mod figures;
mod windows;
mod work;

use std::collections::{BTreeMap, BTreeSet};

use cladlog::building::{Job, Subject};
use cladlog::moment::Moment;
use cladlog::record::{Body, Entry, EntryId};
use cladlog::sequence::Sequence;

/// What a record comes to, in words that can be compared.
#[derive(Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Subject and state of every defect, by its id.
    pub defects: BTreeMap<String, (String, String)>,
    /// The state of every hold point, by its key and subject.
    pub holds: BTreeMap<(String, String), String>,
    /// Every running window, by its key and subject.
    pub windows: BTreeMap<(String, String), Running>,
    /// Every step that is done on a subject and need not be done again.
    pub complete: BTreeSet<(String, String)>,
}

/// State, beginning, opening and closing of a window.
pub type Running = (String, Moment, Moment, Option<Moment>);

/// A record, as far as it counts: without what is struck, in the order in which things happened.
pub struct Second<'a> {
    job: &'a Job,
    sequence: &'a Sequence,
    subjects: Vec<Subject>,
    entries: Vec<&'a Entry>,
    /// The sequence with the figures of the job, and how many entries stand before it came into force.
    in_force: Vec<(usize, Sequence)>,
    /// For each entry the first one that was recorded together with it.
    together: Vec<EntryId>,
}

/// A place in the record: what stands before it had happened, and what time it is there.
#[derive(Clone, Copy)]
struct Place {
    before: usize,
    at: Moment,
}

impl<'a> Second<'a> {
    /// Strikes what is struck, and puts the rest into order.
    pub fn new(job: &'a Job, sequence: &'a Sequence, record: &'a [Entry]) -> Self {
        let struck = struck(record);
        let mut entries: Vec<&Entry> = record.iter().filter(|entry| !struck.contains(&entry.id())).collect();
        let first: BTreeMap<EntryId, &Entry> =
            entries.iter().map(|entry| (entry.id(), first_of(&entries, entry))).collect();
        // What was recorded together stays together, in the place of its first.
        entries.sort_by_key(|entry| {
            let first = first[&entry.id()];
            let of_book = record.iter().filter(|other| other.device == first.device && other.seq <= first.seq);
            let recorded = of_book.map(|other| other.recorded_at).max();
            // Nobody worked by a figure before it was recorded.
            let at = if matches!(first.body, Body::JobRevised(_)) { first.recorded_at } else { first.happened_at };
            (at, recorded, first.causal_rank(), first.id(), entry.seq)
        });
        let together = entries.iter().map(|entry| first[&entry.id()].id()).collect();
        let in_force = figures::in_force(job, sequence, &entries);
        Self { job, sequence, subjects: job.subjects().all().to_vec(), entries, in_force, together }
    }

    /// What the record comes to.
    pub fn outcome(&self, now: Moment) -> Outcome {
        let end = Place { before: self.entries.len(), at: now };
        let mut holds = BTreeMap::new();
        for hold in &self.sequence.holds {
            for on in self.subjects.iter().filter(|on| on.kind() == hold.per) {
                holds.insert((hold.key.clone(), on.to_string()), self.hold(&hold.key, on, end.before).to_owned());
            }
        }
        let mut windows = BTreeMap::new();
        for window in &self.sequence.windows {
            for on in &self.subjects {
                let Some(run) = self.running(window, on, end) else { continue };
                let row = (run.phase(window, now).to_owned(), run.began, run.opens, run.closes);
                windows.insert((window.key.clone(), on.to_string()), row);
            }
        }
        let mut complete = BTreeSet::new();
        for (step, asked) in self.sequence.steps.indexed() {
            for on in self.subjects.iter().filter(|on| self.sequence.asked_of(step, on, self.job)) {
                if self.is_complete(step, on, end) {
                    complete.insert((asked.key.clone(), on.to_string()));
                }
            }
        }
        Outcome { defects: self.defects(), holds, windows, complete }
    }
}

/// The entries that are struck, by strikes that are not struck themselves.
fn struck(record: &[Entry]) -> BTreeSet<EntryId> {
    let mut strikes: Vec<&Entry> = record.iter().filter(|entry| matches!(entry.body, Body::Struck(_))).collect();
    // Whoever strikes a strike had seen it.
    strikes.sort_by_key(|entry| std::cmp::Reverse(entry.causal_rank()));
    let mut struck = BTreeSet::new();
    for entry in strikes {
        if let (Body::Struck(it), false) = (&entry.body, struck.contains(&entry.id())) {
            struck.insert(it.entry.clone());
        }
    }
    struck
}

/// The first of the entries that were recorded together with one: the same step, by the same person, at one time, and
/// one after the other in the book.
fn first_of<'a>(entries: &[&'a Entry], entry: &'a Entry) -> &'a Entry {
    let about = |entry: &Entry| match &entry.body {
        Body::StepDone(it) => {
            Some((it.step.clone(), it.anyway.clone(), it.began, entry.by.clone(), entry.happened_at, entry.recorded_at))
        }
        _ => None,
    };
    let mut first = entry;
    while let Some(before) = entries.iter().find(|before| before.device == entry.device && before.seq + 1 == first.seq)
    {
        if about(before).is_none() || about(before) != about(entry) {
            break;
        }
        first = before;
    }
    first
}
