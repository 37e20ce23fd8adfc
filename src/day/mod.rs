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

pub use asks::{AnswerFault, answer_from_text, judge_answers};
pub use breach::Breach;
pub use decide::{Decision, decide, set_up};
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
pub use replay::{ReplayFault, replay};
pub use request::{DecideFault, Delivered, Extra, Given, Photo, Request, TakenFrom, Value};
pub use state::{Day, Defect, DefectState, Done, HoldLife, HoldState, Reading, State};
pub use stock::{BatchLine, Choice, Counted, Delivery, Flag, How, Ledger, Line, Sort, Stock, Taken, same_label};
pub use stoppages::Stoppage;
pub use windows::{Phase, Run};

use std::borrow::Cow;

use crate::moment::Moment;
use crate::record::{Body, Entry};

/// The entries of one job and what they come to.
#[derive(Debug, Clone)]
pub struct Book {
    /// The entries, in the order in which they were filed.
    pub entries: Vec<Entry>,
    /// What they come to.
    pub state: State,
}

impl Book {
    /// Replays the entries of a job.
    ///
    /// # Errors
    /// [`ReplayFault`] when the first entry is not a job or its sequence can't be read.
    pub fn open(entries: Vec<Entry>) -> Result<Self, ReplayFault> {
        let state = replay(&entries, None)?;
        Ok(Self { entries, state })
    }

    /// The book with one more entry.
    ///
    /// What happened last is folded onto the state in hand; what happened earlier, and a strike, change what
    /// came after them, so that the whole is replayed.
    ///
    /// # Errors
    /// [`ReplayFault`] when it adopts a sequence that can't be read.
    pub fn with(mut self, entry: Entry) -> Result<Self, ReplayFault> {
        let earlier = self.entries.iter().any(|other| other.happened_at > entry.happened_at);
        if earlier || matches!(entry.body, Body::Struck { .. } | Body::JobAdded { .. }) {
            self.entries.push(entry);
            return Self::open(self.entries);
        }
        self.state.apply(&entry)?;
        self.entries.push(entry);
        Ok(self)
    }

    /// What the entries came to at a moment: the state in hand, where nothing happened since.
    ///
    /// # Errors
    /// [`ReplayFault`].
    pub fn as_of(&self, at: Moment) -> Result<Cow<'_, State>, ReplayFault> {
        if self.entries.iter().all(|entry| entry.happened_at <= at) {
            return Ok(Cow::Borrowed(&self.state));
        }
        replay(&self.entries, Some(at)).map(Cow::Owned)
    }

    /// The entry of this id.
    pub fn entry(&self, id: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id() == id)
    }
}
