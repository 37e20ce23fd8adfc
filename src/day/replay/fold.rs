//! Folding the entries of a job into its state, from the beginning or from a point in the past.

use std::collections::HashMap;

use super::order::{Place, continues, in_time, struck};
use crate::building::Job;
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{Body, Entry, EntryId};
use crate::sequence::{self, Sequence};

/// Most walls, corners, courses, joints and openings that a building has in all.
const MOST_SUBJECTS: usize = 100_000;

#[cfg(test)]
thread_local! {
    /// Entries that this thread folded in, into whatever state: what the tests hold the work of a record to.
    pub(crate) static FOLDED: std::cell::Cell<usize> = const { std::cell::Cell::new(0) };
}

/// Why entries are no job.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReplayError {
    /// No entry sets the job up.
    #[error("the record is incomplete: no entry sets the job up")]
    NoJob,
    /// The building is larger than this program takes.
    #[error("the building that entry {0} sets up has more than {MOST_SUBJECTS} walls, courses, joints and openings")]
    Size(String),
    /// A key that job files can't have: files are named by keys.
    #[error("in the building that entry {entry} sets up, {mistake}")]
    Key {
        /// Id of the entry.
        entry: String,
        /// Which key, and what is wrong with it.
        mistake: String,
    },
    /// The pinned sequence can't be read by this program.
    #[error("the sequence that entry {entry} pins can't be read: {mistake}")]
    Sequence {
        /// Id of the entry.
        entry: String,
        /// The first mistake.
        mistake: String,
    },
}

/// A state of the past: what it was, and which entries are in it.
#[derive(Debug, Clone)]
pub(crate) struct Past {
    /// The state.
    pub state: State,
    /// Place in time of the last entry that is in it; those before it are all in it.
    last: Option<Place>,
}

impl Past {
    /// What these entries came to at a moment.
    pub(in crate::day) fn at(entries: &[Entry], at: Moment) -> Result<Self, ReplayError> {
        Self::of(entries, |place| place.at <= at)
    }

    /// What these entries came to before one of them.
    pub(in crate::day) fn before(entries: &[Entry], entry: &Entry) -> Result<Self, ReplayError> {
        let until = Place::of(entry);
        Self::of(entries, |place| *place < until)
    }

    fn of(entries: &[Entry], takes: impl Fn(&Place) -> bool) -> Result<Self, ReplayError> {
        let state = fold(begin(entries)?, entries, |entry| takes(&Place::of(entry)))?;
        Ok(Self { state, last: entries.iter().map(Place::of).filter(takes).max() })
    }

    /// Whether an entry is folded in.
    pub(in crate::day) fn has(&self, entry: &Entry) -> bool {
        self.last.as_ref().is_some_and(|last| Place::of(entry) <= *last)
    }

    /// Whether an entry that is new to the record comes after all that is folded in, and at another moment: those of one
    /// moment are put into order among themselves.
    pub(in crate::day) fn is_before(&self, entry: &Entry) -> bool {
        self.last.as_ref().is_none_or(|last| last.moment() < Place::of(entry).moment())
    }
}

/// Folds the entries of a job, in the order in which things happened, into its state.
///
/// With `until`, only what had happened by then counts; strikes count whenever they were made.
///
/// # Errors
/// [`ReplayError`].
pub fn replay(entries: &[Entry], until: Option<Moment>) -> Result<State, ReplayError> {
    match until {
        None => fold(begin(entries)?, entries, |_| true),
        Some(at) => Past::at(entries, at).map(|past| past.state),
    }
}

/// The same from a state of the past, into which some of the entries are folded already. What is struck since must not
/// be among those.
pub(in crate::day) fn replay_from(past: Past, entries: &[Entry]) -> Result<State, ReplayError> {
    let Past { mut state, last } = past;
    survey(&mut state, entries);
    fold(state, entries, |entry| last.as_ref().is_none_or(|last| *last < Place::of(entry)))
}

/// The same as if one of the entries had never been recorded; the state is for looking at only.
pub(in crate::day) fn replay_without(past: Past, entries: &[Entry], gone: &EntryId) -> Result<State, ReplayError> {
    let Past { mut state, last } = past;
    state.struck = struck(entries.iter().filter(|entry| entry.id() != *gone));
    state.struck.insert(gone.clone(), gone.clone());
    fold(state, entries, |entry| last.as_ref().is_none_or(|last| *last < Place::of(entry)))
}

/// The state of a job that was set up, before anything happened to it.
fn begin(entries: &[Entry]) -> Result<State, ReplayError> {
    let first = entries.iter().find_map(|entry| match &entry.body {
        Body::JobAdded(set_up) => Some((entry.id(), set_up)),
        _ => None,
    });
    let (first, set_up) = first.ok_or(ReplayError::NoJob)?;
    let job = &set_up.building;
    check_building(job, &first)?;
    let sequence = read_sequence(&first.to_string(), &set_up.sequence)?;
    let mut state = State::new(Job::clone(job), sequence);
    survey(&mut state, entries);
    Ok(state)
}

/// Counted before anything is made for each part: a record that comes from elsewhere may say anything.
pub(super) fn check_building(job: &Job, entry: &EntryId) -> Result<(), ReplayError> {
    let parts = job.walls.iter().map(|w| (w.courses as usize).saturating_add(w.joints.len() + w.openings.len()));
    let parts = parts.fold(job.walls.len() + job.corners.len(), usize::saturating_add);
    if parts > MOST_SUBJECTS {
        return Err(ReplayError::Size(entry.to_string()));
    }
    job.check_keys().map_err(|mistake| ReplayError::Key { entry: entry.to_string(), mistake })
}

/// What is so whenever things happened: what is struck, how much is recorded, and when the last of it was.
fn survey(state: &mut State, entries: &[Entry]) {
    state.struck = struck(entries.iter());
    state.entries = entries.len();
    state.last_recorded.clear();
    for entry in entries {
        // A struck entry's clock says nothing any more: it may have been ahead.
        if !state.is_struck(entry) {
            state.note_recorded(entry);
        }
    }
    state.rehearsal = entries.iter().any(|entry| entry.rehearsal);
}

fn fold(mut state: State, entries: &[Entry], counts: impl Fn(&Entry) -> bool) -> Result<State, ReplayError> {
    let order: Vec<&Entry> = in_time(entries, &state.struck).into_iter().filter(|entry| counts(entry)).collect();
    let mut struck = struck_in_time(&state, entries).into_iter().filter(|(_, entry, _)| counts(entry)).peekable();
    for record in order.chunk_by(|before, entry| continues(before, entry)) {
        let place = Place::of(record[0]);
        while let Some((_, entry, strike)) = struck.next_if(|(before, ..)| *before < place) {
            state.list_struck(entry, strike);
        }
        state.apply(record)?;
    }
    struck.for_each(|(_, entry, strike)| state.list_struck(entry, strike));
    Ok(state)
}

/// The struck entries in the order in which things happened, each with its strike.
fn struck_in_time<'e>(state: &State, entries: &'e [Entry]) -> Vec<(Place, &'e Entry, &'e Entry)> {
    if state.struck.is_empty() {
        return Vec::new();
    }
    let strikes = entries.iter().filter(|entry| matches!(entry.body, Body::Struck(_)));
    let strikes: HashMap<EntryId, &Entry> = strikes.map(|entry| (entry.id(), entry)).collect();
    let with_strike = |entry: &'e Entry| {
        let strike = strikes.get(state.struck.get(&entry.id())?)?;
        Some((Place::of(entry), entry, *strike))
    };
    let mut struck: Vec<_> = entries.iter().filter_map(with_strike).collect();
    struck.sort_by(|(a, ..), (b, ..)| a.cmp(b));
    struck
}

/// Reads the sequence that an entry pins.
///
/// # Errors
/// [`ReplayError::Sequence`].
pub(in crate::day) fn read_sequence(entry: &str, text: &str) -> Result<Sequence, ReplayError> {
    sequence::read(text).map_err(|mistakes| ReplayError::Sequence {
        entry: entry.to_owned(),
        mistake: mistakes.first().map_or_else(String::new, |mistake| mistake.in_file("sequence")),
    })
}
