//! The book of a job: its entries and what they come to.

use std::borrow::Cow;
use std::cell::LazyCell;
use std::collections::HashMap;
use std::sync::OnceLock;

use crate::day::facts::Effect;
use crate::day::replay::{Past, Place, ReplayError, continues, in_time, replay, replay_from};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{Body, Entry, EntryId, Heads, crew, in_order};

/// Strikes of strikes that are followed to what the first one struck.
const MOST_STRIKES: usize = 32;

/// The entries of one job and what they come to.
#[derive(Debug, Clone)]
pub struct Book {
    /// The entries, in the order of [`in_order`].
    pub entries: Vec<Entry>,
    /// What they come to.
    pub state: State,
    /// Where the chain of each device ends.
    heads: Heads,
    /// Place in time of what happened last.
    latest: Option<Place>,
    /// Where each entry stands, made when it is first asked for.
    places: OnceLock<HashMap<EntryId, usize>>,
}

/// What more entries made of a book.
#[derive(Debug)]
pub enum Change {
    /// They followed on what was there, and opened and closed this.
    Followed(Vec<Effect>),
    /// They changed what came after them: this is what the book came to before.
    Rewritten(Box<State>),
}

impl Book {
    /// Replays the entries of a job.
    ///
    /// # Errors
    /// [`ReplayError`] when the first entry is not a job or its sequence can't be read.
    pub fn open(mut entries: Vec<Entry>) -> Result<Self, ReplayError> {
        in_order(&mut entries);
        let state = replay(&entries, None)?;
        let mut book = Self { entries, state, heads: Heads::new(), latest: None, places: OnceLock::new() };
        book.note_ends();
        Ok(book)
    }

    /// Replays the entries of a job as its device sees them: of two crews each has its own days.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn open_by(device: &str, entries: Vec<Entry>) -> Result<Self, ReplayError> {
        let mut book = Self::open(entries)?;
        book.state.set_device(device);
        Ok(book)
    }

    fn note_ends(&mut self) {
        self.heads.clear();
        // Of each device the last one is met first.
        for entry in self.entries.iter().rev() {
            if !self.heads.contains_key(&*entry.device) {
                self.heads.insert(entry.device.to_string(), (entry.seq, entry.hash.clone()));
            }
        }
        self.latest = self.entries.iter().filter(|entry| !self.state.is_struck(entry)).map(Place::of).max();
    }

    /// Where the chain of each device ends: what comes after is new to this book.
    pub fn heads(&self) -> &Heads {
        &self.heads
    }

    /// The newest entry of this file's own book. A copy that has recorded nothing yet has that of the book that it goes on
    /// from.
    pub fn head(&self) -> Option<&Entry> {
        self.newest(|_| true)
    }

    /// The same, as it was at a moment.
    pub fn head_at(&self, at: Moment) -> Option<&Entry> {
        self.newest(|entry| entry.recorded_at <= at)
    }

    fn newest(&self, counts: impl Fn(&Entry) -> bool) -> Option<&Entry> {
        let device = self.state.device();
        let own = |entry: &Entry| device.is_none_or(|device| *entry.device == *device);
        let crews = |entry: &Entry| device.is_some_and(|device| crew(&entry.device) == crew(device));
        let of = |whose: &dyn Fn(&Entry) -> bool| self.entries.iter().rfind(|entry| whose(entry) && counts(entry));
        of(&own).or_else(|| of(&crews)).or_else(|| of(&|_| true))
    }

    /// When the last of what is recorded and not struck happened.
    pub fn latest(&self) -> Option<Moment> {
        self.latest.as_ref().map(|place| place.at)
    }

    /// The entry of this id.
    pub fn entry(&self, id: &EntryId) -> Option<&Entry> {
        let numbered = || self.entries.iter().enumerate().map(|(place, entry)| (entry.id(), place)).collect();
        self.entries.get(*self.places.get_or_init(numbered).get(id)?)
    }

    /// Whether entries are found by an index, as they are from the first question on.
    #[cfg(test)]
    pub(crate) fn has_places(&self) -> bool {
        self.places.get().is_some_and(|places| places.len() == self.entries.len())
    }

    /// The entry that one is about in the end: what it strikes, ends or closes, or itself.
    pub fn root<'b>(&'b self, entry: &'b Entry) -> &'b Entry {
        let next = |entry: &&'b Entry| self.entry(entry.body.acts_on()?);
        // A made-up record might go round in a ring.
        std::iter::successors(Some(entry), next).take(MOST_STRIKES).last().unwrap_or(entry)
    }

    /// The entries that are not struck, in the order in which things happened.
    pub fn in_time(&self) -> Vec<&Entry> {
        in_time(&self.entries, &self.state.struck)
    }

    /// What the entries came to at a moment: the state in hand, where nothing happened since.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn as_of(&self, at: Moment) -> Result<Cow<'_, State>, ReplayError> {
        if self.latest().is_none_or(|latest| latest <= at) {
            return Ok(Cow::Borrowed(&self.state));
        }
        self.past(at).map(|past| Cow::Owned(past.state))
    }

    /// What the entries came to at a moment, to go on from.
    pub(in crate::day) fn past(&self, at: Moment) -> Result<Past, ReplayError> {
        self.seen_by_device(Past::at(&self.entries, at)?)
    }

    /// What the entries came to before one of them, to go on from.
    pub(in crate::day) fn before(&self, entry: &Entry) -> Result<Past, ReplayError> {
        self.seen_by_device(Past::before(&self.entries, entry)?)
    }

    fn seen_by_device(&self, mut past: Past) -> Result<Past, ReplayError> {
        past.state.device.clone_from(&self.state.device);
        Ok(past)
    }

    /// Adds an entry.
    ///
    /// # Errors
    /// [`ReplayError`] where the record can't be replayed with it.
    pub fn add(&mut self, entry: Entry) -> Result<Change, ReplayError> {
        self.extend(vec![entry], None)
    }

    /// Adds what others filed since.
    ///
    /// # Errors
    /// [`ReplayError`] where the record can't be replayed with it.
    pub fn refresh(&mut self, newer: Vec<Entry>) -> Result<(), ReplayError> {
        if newer.is_empty() { Ok(()) } else { self.extend(newer, None).map(|_| ()) }
    }

    /// Adds entries that were recorded together.
    ///
    /// What happened last is folded onto the state in hand. What happened earlier, and a strike, change what came after
    /// them: that is replayed, from `past` where it is given and they all stand after it.
    ///
    /// # Errors
    /// [`ReplayError`] when one adopts a sequence that can't be read; the book is of no more use then.
    pub(crate) fn extend(&mut self, new: Vec<Entry>, past: Option<Past>) -> Result<Change, ReplayError> {
        if self.follow(&new) {
            let mut effects = Vec::new();
            let refs: Vec<&Entry> = new.iter().collect();
            for record in refs.chunk_by(|before, entry| continues(before, entry)) {
                effects.extend(self.state.apply(record)?);
            }
            for entry in new {
                self.state.entries += 1;
                self.state.rehearsal |= entry.rehearsal;
                self.state.note_recorded(&entry);
                self.latest = Some(Place::of(&entry));
                self.heads.insert(entry.device.to_string(), (entry.seq, entry.hash.clone()));
                if let Some(places) = self.places.get_mut() {
                    places.insert(entry.id(), self.entries.len());
                }
                self.entries.push(entry);
            }
            return Ok(Change::Followed(effects));
        }
        let past = past.filter(|past| new.iter().all(|entry| self.stands_after(past, entry)));
        self.entries.extend(new);
        in_order(&mut self.entries);
        let mut state = match past {
            Some(past) => replay_from(past, &self.entries)?,
            None => replay(&self.entries, None)?,
        };
        state.device.clone_from(&self.state.device);
        let before = std::mem::replace(&mut self.state, state);
        self.places = OnceLock::new();
        self.note_ends();
        Ok(Change::Rewritten(Box::new(before)))
    }

    /// Whether entries happened one after the other, and after all that is there.
    fn follow(&self, new: &[Entry]) -> bool {
        let Some(last) = self.entries.last() else { return false };
        // Struck entries keep their place in the record.
        let newest = LazyCell::new(|| self.entries.iter().map(|entry| entry.recorded_at).max());
        let in_turn = |entry: &Entry| entry.device == last.device || *newest < Some(entry.recorded_at);
        // Another edition has other hold points: they are compared as a whole.
        let rewrites = |entry: &Entry| {
            matches!(entry.body, Body::Struck(_) | Body::JobAdded(_) | Body::SequenceAdopted(_) | Body::JobRevised(_))
        };
        let places = || new.iter().map(Place::of);
        // What goes on with the last record is judged with it.
        new.first().is_none_or(|first| !continues(last, first))
            && new.iter().all(|entry| in_turn(entry) && !rewrites(entry))
            && self.latest.iter().cloned().chain(places()).is_sorted_by(|before, place| before < place)
    }

    /// Whether what an entry changes stands after a state of the past.
    fn stands_after(&self, past: &Past, entry: &Entry) -> bool {
        match &entry.body {
            Body::JobAdded(_) => false,
            Body::Struck(strike) => self.entry(&strike.entry).is_some_and(|target| !past.has(self.root(target))),
            _ => past.is_before(entry),
        }
    }
}
