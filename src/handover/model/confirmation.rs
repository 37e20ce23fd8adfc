//! What was typed in somebody's name, and how far they stand behind it.

use crate::day::Grade;
use crate::moment::Moment;
use crate::record::EntryId;
use crate::table::{Cell, Column, Row};

/// A release, a refusal, a closing or a concession that was typed by somebody else than the person in whose name it is.
#[derive(Debug, Clone)]
pub struct Confirmation {
    /// The entry.
    pub entry: EntryId,
    /// Its hash: what a key of their own signs.
    pub hash: String,
    /// What it says.
    pub what: String,
    /// In whose name.
    pub person: String,
    /// Who typed it.
    pub noted_by: String,
    /// How far the person stands behind it.
    pub grade: Grade,
    /// When they confirmed it.
    pub at: Option<Moment>,
    /// The reply, the scan of the paper, or the fingerprint of the key.
    pub how: Option<String>,
}

impl Confirmation {
    /// For pages: who typed it, and what the person did about it.
    pub fn in_words(&self) -> String {
        let said = format!("as noted by {}; {}", self.noted_by, self.grade.in_words());
        match (self.grade, self.how.as_deref()) {
            (Grade::Typed, _) => format!("{said} by {}", self.person),
            (Grade::Reply, Some(reply)) => format!("{said}: {reply}"),
            (_, Some(how)) => format!("{said} ({how})"),
            (_, None) => said,
        }
    }
}

impl Row for Confirmation {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "entry", title: "Entry", cell: |it| Cell::text(it.entry.to_string()) },
        Column { key: "person", title: "In the name of", cell: |it| (&it.person).into() },
        Column { key: "grade", title: "Grade", cell: |it| it.grade.word().into() },
        Column { key: "at", title: "Confirmed", cell: |it| it.at.into() },
        Column { key: "what", title: "What", cell: |it| (&it.what).into() },
        Column { key: "noted_by", title: "Noted by", cell: |it| (&it.noted_by).into() },
        Column { key: "how", title: "How", cell: |it| it.how.as_ref().into() },
        Column { key: "hash", title: "SHA-256", cell: |it| (&it.hash).into() },
    ];
}
