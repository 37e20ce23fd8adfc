//! What was recorded, once it is durable.

use serde::Serialize;

use crate::day::{Effects, FlagKind};
use crate::moment::Moment;
use crate::record::{Entry, EntryId};

/// What was recorded, once it is durable.
#[derive(Debug, Default, Serialize)]
pub struct Recorded {
    /// The entries.
    pub entries: Vec<RecordedEntry>,
    /// What they opened and closed.
    #[serde(flatten)]
    pub effects: Effects,
    /// What to know of materials and photos because of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<Warning>,
}

/// A warning: it stops nothing, and is never silent.
#[derive(Debug, Serialize)]
pub struct Warning {
    /// What it is about.
    #[serde(rename = "sort")]
    pub kind: WarningKind,
    /// In words.
    pub says: String,
}

/// What a warning is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WarningKind {
    /// The book: others go on with it as well.
    Book,
    /// What another edition of the sequence changes.
    Sequence,
    /// A photo.
    Photo,
    /// The materials.
    #[serde(untagged)]
    Materials(FlagKind),
}

/// An entry that was recorded.
#[derive(Debug, Serialize)]
pub struct RecordedEntry {
    /// Id.
    pub id: EntryId,
    /// Hash.
    pub hash: String,
    /// Kind.
    pub kind: String,
    /// Subject.
    pub subject: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Recorded late.
    #[serde(skip)]
    pub late: bool,
}

impl From<&Entry> for RecordedEntry {
    fn from(entry: &Entry) -> Self {
        Self {
            id: entry.id(),
            hash: entry.hash.clone(),
            kind: entry.body.kind().to_owned(),
            subject: entry.body.subject().to_owned(),
            happened_at: entry.happened_at,
            recorded_at: entry.recorded_at,
            late: entry.is_late(),
        }
    }
}
