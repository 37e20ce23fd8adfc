//! An edition of the sequence that was adopted in the course of a job.

use serde::Serialize;

use crate::moment::Moment;
use crate::record::EntryId;
use crate::sequence::EditionChange;

/// An edition of the sequence that was adopted in the course of a job.
#[derive(Debug, Clone, Serialize)]
pub struct Adoption {
    /// The entry.
    pub entry: EntryId,
    /// Since when it is in force: when it was recorded, whenever it was agreed.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// Why.
    pub why: String,
    /// What differs from the edition before.
    pub changes: Vec<EditionChange>,
}
