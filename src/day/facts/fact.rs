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
    /// Who recorded it.
    pub by: String,
    /// What the entry says.
    #[serde(flatten)]
    pub says: T,
}

/// Site conditions read on a wall.
pub type Reading = Fact<TakeReading>;

/// A sum that was kept.
pub type Plan = Fact<KeepPlan>;

impl<T: Clone> Fact<T> {
    /// What an entry says.
    pub fn of(entry: &Entry, says: &T) -> Self {
        Self { entry: entry.id(), at: entry.happened_at, by: entry.by.clone(), says: says.clone() }
    }
}

impl<T> Deref for Fact<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.says
    }
}
