//! The list of what was put into a pack later: signed papers, reports of others.

use serde::{Deserialize, Serialize};

use crate::moment::Moment;
use crate::table::{Column, Row, csv, guarded};

/// More bytes than such a list has.
pub const MOST_ATTACHED_LIST: u64 = 10_000_000;

/// A file that was put into a pack later.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attached {
    /// Its name in the folder; read from the list, as a cell there has it.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// What it is, in words.
    pub what: String,
    /// When it was put there.
    pub attached_at: Moment,
}

impl Attached {
    /// Its name, without the guard of a cell.
    pub fn name(&self) -> &str {
        self.file.strip_prefix('\'').filter(|name| guarded(name) == self.file).unwrap_or(&self.file)
    }

    /// Whether it is the file of this name.
    pub fn is_named(&self, name: &str) -> bool {
        // Lists made before cells were guarded have the name alone.
        self.file == name || self.file == guarded(name)
    }
}

impl Row for Attached {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "file", title: "File", cell: |it| (&it.file).into() },
        Column { key: "sha256", title: "SHA-256", cell: |it| (&it.sha256).into() },
        Column { key: "what", title: "What", cell: |it| (&it.what).into() },
        Column { key: "attached_at", title: "Attached", cell: |it| it.attached_at.into() },
    ];
}

/// Reads the list; a line that is none is passed over.
pub fn attached_list(csv: &[u8]) -> Vec<Attached> {
    csv::Reader::from_reader(csv).deserialize().filter_map(Result::ok).collect()
}

/// Writes the list.
pub fn attached_csv(list: &[Attached]) -> Vec<u8> {
    csv(list)
}
