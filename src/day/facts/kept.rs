//! The results of sums, as the record keeps them.

use std::ops::Deref;

use serde::de::DeserializeOwned;

use super::fact::Plan;
use crate::conditions::exposure::Exposure;
use crate::materials::cuts::WallCuts;
use crate::materials::takeoff::TakeOff;
use crate::moment::Moment;
use crate::record::EntryId;
use crate::setout::boards::Boards;
use crate::setout::columns::Columns;
use crate::setout::courses::Courses;
use crate::setout::packing::Packing;
use crate::setout::panels::Panels;
use crate::setout::starter::Starter;

/// The result of a sum that the record keeps.
pub trait KeptSum {
    /// The name that it is kept under.
    const NAME: &'static str;
}

impl KeptSum for Boards {
    const NAME: &'static str = "boards";
}

impl KeptSum for Columns {
    const NAME: &'static str = "columns";
}

impl KeptSum for Courses {
    const NAME: &'static str = "courses";
}

impl KeptSum for Exposure {
    const NAME: &'static str = "exposure";
}

impl KeptSum for Packing {
    const NAME: &'static str = "packing";
}

impl KeptSum for Panels {
    const NAME: &'static str = "panels";
}

impl KeptSum for Starter {
    const NAME: &'static str = "starter";
}

impl KeptSum for TakeOff {
    const NAME: &'static str = "takeoff";
}

impl KeptSum for WallCuts {
    const NAME: &'static str = "cuts";
}

/// A result, with the entry that keeps it; it reads like the result.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// The entry.
    pub entry: EntryId,
    /// When it was kept.
    pub at: Moment,
    /// Id of the subject that it is kept for.
    pub subject: String,
    /// What the sum came to.
    pub result: T,
}

impl<T: DeserializeOwned> Kept<T> {
    /// Reads what was kept. What does not read as such a result is passed over: its entry is in the log all the same.
    pub(in crate::day) fn read(plan: &Plan) -> Option<Self> {
        let result = T::deserialize(&plan.result).ok()?;
        Some(Self { entry: plan.entry.clone(), at: plan.at, subject: plan.subject.clone(), result })
    }
}

impl<T> Kept<T> {
    /// A part of the result, kept by the same entry.
    pub(in crate::day) fn part<U>(self, part: impl FnOnce(T) -> Option<U>) -> Option<Kept<U>> {
        let Self { entry, at, subject, result } = self;
        Some(Kept { entry, at, subject, result: part(result)? })
    }
}

impl<T> Deref for Kept<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.result
    }
}
