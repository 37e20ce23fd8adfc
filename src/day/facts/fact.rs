//! What an entry says, with who recorded it and when it happened.

use std::ops::Deref;

use serde::Serialize;

use crate::moment::Moment;
use crate::record::{Entry, EntryId, KeepPlan, TakeReading};

/// What an entry says, with who recorded it and when it happened; it reads like what it says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fact<T> {
    /// The entry.
    #[serde(rename = "id")]
    pub entry: EntryId,
    /// When it happened.
    pub at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Who recorded it.
    pub by: String,
    /// Its place among all that was folded in: of what bears the same moment, what was recorded later happened later.
    #[serde(skip)]
    pub order: usize,
    /// What the entry says.
    #[serde(flatten)]
    pub says: T,
}

/// Site conditions read on a wall.
pub type Reading = Fact<TakeReading>;

/// A sum that was kept.
pub type Plan = Fact<KeepPlan>;

impl<T: Clone> Fact<T> {
    /// What an entry says, at its place among all that was folded in.
    pub(in crate::day) fn of(entry: &Entry, order: usize, says: &T) -> Self {
        Self {
            entry: entry.id(),
            at: entry.happened_at,
            recorded_at: entry.recorded_at,
            by: entry.by.clone(),
            order,
            says: says.clone(),
        }
    }
}

impl<T> Deref for Fact<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.says
    }
}
