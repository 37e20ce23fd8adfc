//! How a window is missed, as data.

use crate::building::SubjectIx;
use crate::moment::Moment;
use crate::sequence::LapseTrigger;

/// Weather that made a window lapse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spoiled {
    /// Rain or frost.
    pub by: LapseTrigger,
    /// When it was read.
    pub at: Moment,
    /// Index of the wall on which it was read.
    pub wall: SubjectIx,
}

/// A window that is missed by its second step: when it runs, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missed {
    /// What it counts from, and the end of its first step.
    pub(super) began: [Moment; 2],
    /// When it opens and closes.
    pub(super) bounds: (Moment, Option<Moment>),
    pub(super) how: Miss,
}

/// How a window is missed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Miss {
    /// What was done in it lapsed in its turn, then.
    Undone(Moment),
    /// The weather made it lapse.
    Spoiled(Spoiled),
    /// It closes, then, before it opens: the table of surface temperatures leaves nothing between the two.
    Never(Moment),
    /// It is not open yet.
    Early,
    /// It has closed.
    Late(Moment),
}
