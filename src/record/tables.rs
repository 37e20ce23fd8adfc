//! The rows of the file's tables, as they are read and written.

use super::entry::Entry;
use super::id::EntryId;
use crate::table::{Cell, Column, Row};

/// A job as the file lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredJob {
    /// Key.
    pub key: String,
    /// Name.
    pub name: String,
    /// Id of this file's own book for the job.
    pub device: String,
    /// Whether any of it was written under a rehearsal clock.
    pub rehearsal: bool,
}

/// What a phone sent, and what came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentRow {
    /// Id of the phone.
    pub phone: String,
    /// Id of the request, which the phone chose.
    pub request: String,
    /// SHA-256 of what it said, lower-case hex.
    pub sha256: String,
    /// What came of it, as the phone was answered.
    pub answer: String,
}

/// A command of this file that recorded several entries, or that was an undo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CommandRow {
    /// Number of the first entry, in the book that it is filed in.
    pub first: u64,
    /// Number of the last.
    pub last: u64,
    /// Whether it was an undo.
    pub undo: bool,
}

/// A line of the log.
#[derive(Debug, Clone)]
pub struct LogRow {
    /// The entry, checked against its hash.
    pub entry: Entry,
    /// The entry that strikes it.
    pub struck_by: Option<EntryId>,
    /// What an edition of the sequence changed that the entry adopts, a line each.
    pub changes: Option<Vec<String>>,
}

impl Row for LogRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "id", title: "Entry", cell: |it| Cell::text(it.entry.id().to_string()) },
        Column { key: "happened_at", title: "Happened", cell: |it| it.entry.happened_at.into() },
        Column { key: "recorded_at", title: "Recorded", cell: |it| it.entry.recorded_at.into() },
        Column { key: "by", title: "By", cell: |it| (&it.entry.by).into() },
        Column { key: "kind", title: "Kind", cell: |it| it.entry.body.kind().into() },
        Column { key: "subject", title: "On", cell: |it| it.entry.body.subject().into() },
        Column { key: "what", title: "What", cell: |it| it.entry.body.in_words().into() },
        Column { key: "late", title: "Late", cell: |it| it.entry.is_late().into() },
        Column {
            key: "struck_by",
            title: "Struck by",
            cell: |it| it.struck_by.as_ref().map(EntryId::to_string).into(),
        },
        Column { key: "hash", title: "SHA-256", cell: |it| (&it.entry.hash).into() },
        Column { key: "device", title: "Device", cell: |it| Cell::text(&*it.entry.device) },
        Column { key: "seq", title: "Number", cell: |it| it.entry.seq.into() },
        Column { key: "changes", title: "Changes", cell: |it| it.changes.clone().into() },
    ];
}

/// A hold point's state, for the read table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct HoldRow {
    /// Key of the hold point.
    pub hold: String,
    /// Subject.
    pub subject: String,
    /// held, released or refused.
    pub state: String,
}

/// A defect's state, for the read table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct DefectRow {
    /// Id.
    pub id: String,
    /// Subject.
    pub subject: String,
    /// open, closed or conceded.
    pub state: String,
    /// What is wrong.
    pub what: String,
}

/// What the entries of a job come to, for the read tables; each list in the order of its text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadTables {
    /// Struck entries and what strikes them.
    pub struck: Vec<(String, String)>,
    /// Hold points.
    pub holds: Vec<HoldRow>,
    /// Defects.
    pub defects: Vec<DefectRow>,
}
