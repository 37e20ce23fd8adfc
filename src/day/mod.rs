//! The rules: what the record comes to, what is next, what is refused.
//!
//! Three pure functions, and every screen is a skin over them:
//! [`replay`] folds the entries into a [`State`], [`next`] says what can be done now, what waits and why,
//! [`decide`] turns a request into entry bodies or into a refusal. Both `replay` and `decide` ask the same
//! [`judge`] whether a step is in order: `decide` refuses what it finds, `replay` opens it as a defect.
//! So nothing that the record holds, however it came in, escapes the rules.

mod alarms;
mod asks;
mod breach;
mod cautions;
mod conditions;
mod decide;
mod effects;
mod exposures;
mod extras;
mod forecast;
mod holds;
mod judge;
mod next;
mod offcuts;
mod order;
mod photos;
mod plans;
mod replay;
mod request;
pub mod sealing_day;
mod state;
mod stock;
mod stoppages;
mod strike;
mod windows;

pub use asks::{AnswerError, answer_from_text, judge_answers};
pub use breach::Breach;
pub use decide::{Decision, decide, not_to_come, set_up};
pub use effects::{Effects, Mark, Snapshot};
pub use exposures::EXPOSURE;
pub use extras::ExtraWork;
pub use forecast::{Foreseen, Trouble};
pub use holds::{may_release, release_waits_for};
pub use judge::judge;
pub use next::{Action, next};
pub use offcuts::KeptCuts;
pub use photos::{PhotoUse, photo_notes, photos};
pub use plans::Plan;
pub use replay::{ReplayError, replay};
use replay::{place_in_time, replay_at};
pub use request::{DecideError, Delivered, Extra, Given, Photo, Request, TakenFrom, Value};
pub use state::{Day, Defect, DefectState, Done, HoldLife, HoldState, Reading, State};
pub use stock::{
    BatchLine, Choice, Compared, Counted, Delivery, Flag, How, Ledger, Line, Order, OrderLine, Sort, Stock, Taken,
    same_label,
};
pub use stoppages::Stoppage;
pub use windows::{Phase, Run};

use std::borrow::Cow;

use crate::moment::Moment;
use crate::record::{Body, Entry, Heads, in_order};

/// Where an entry stands in time: happened, recorded, weight, device, number.
type Place = (Moment, Moment, u64, String, u64);

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
}

impl Book {
    /// Replays the entries of a job.
    ///
    /// # Errors
    /// [`ReplayError`] when the first entry is not a job or its sequence can't be read.
    pub fn open(mut entries: Vec<Entry>) -> Result<Self, ReplayError> {
        in_order(&mut entries);
        let state = replay(&entries, None)?;
        let mut heads = Heads::new();
        for entry in &entries {
            heads.insert(entry.device.clone(), (entry.seq, entry.hash.clone()));
        }
        let latest = entries.iter().map(place_in_time).max().map(owned);
        Ok(Self { entries, state, heads, latest })
    }

    /// Where the chain of each device ends: what comes after is new to this book.
    pub fn heads(&self) -> &Heads {
        &self.heads
    }

    /// When the last of what is recorded happened.
    pub fn latest(&self) -> Option<Moment> {
        self.latest.as_ref().map(|(happened_at, ..)| *happened_at)
    }

    /// The book with one more entry.
    ///
    /// # Errors
    /// As [`Book::add`].
    pub fn with(mut self, entry: Entry) -> Result<Self, ReplayError> {
        self.add(entry)?;
        Ok(self)
    }

    /// The book with all of these.
    ///
    /// # Errors
    /// As [`Book::add`].
    pub fn and(self, entries: Vec<Entry>) -> Result<Self, ReplayError> {
        match entries.len() {
            0 | 1 => entries.into_iter().try_fold(self, Self::with),
            // Many are replayed once, whatever is among them.
            _ => {
                let here = self.state.here;
                let mut book = Self::open(self.entries.into_iter().chain(entries).collect())?;
                book.state.here = here;
                Ok(book)
            }
        }
    }

    /// Adds an entry.
    ///
    /// What happened last is folded onto the state in hand; what happened earlier, and a strike, change what
    /// came after them, so that the whole is replayed.
    ///
    /// # Errors
    /// [`ReplayError`] when it adopts a sequence that can't be read; the book is of no more use then.
    pub fn add(&mut self, entry: Entry) -> Result<(), ReplayError> {
        let same = self.entries.last().is_some_and(|last| last.device == entry.device);
        let in_turn = same || self.state.last_recorded < Some(entry.recorded_at);
        let place = owned(place_in_time(&entry));
        let folds = in_turn
            && !matches!(entry.body, Body::Struck { .. } | Body::JobAdded { .. })
            && self.latest.as_ref().is_none_or(|latest| *latest < place);
        if folds {
            let here = self.state.here.take();
            self.state.apply(&entry)?;
            self.state.here = here;
            self.latest = Some(place);
            self.heads.insert(entry.device.clone(), (entry.seq, entry.hash.clone()));
            self.entries.push(entry);
        } else {
            let mut entries = std::mem::take(&mut self.entries);
            entries.push(entry);
            let here = self.state.here.take();
            *self = Self::open(entries)?;
            self.state.here = here;
        }
        Ok(())
    }

    /// What the entries came to at a moment: the state in hand, where nothing happened since.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn as_of(&self, at: Moment) -> Result<Cow<'_, State>, ReplayError> {
        if self.latest().is_none_or(|latest| latest <= at) {
            return Ok(Cow::Borrowed(&self.state));
        }
        replay_at(self, at).map(Cow::Owned)
    }

    /// The entry of this id.
    pub fn entry(&self, id: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id() == id)
    }
}

fn owned(place: (Moment, Moment, u64, &str, u64)) -> Place {
    let (happened_at, recorded_at, weight, device, seq) = place;
    (happened_at, recorded_at, weight, device.to_owned(), seq)
}
