//! What was typed in somebody's name, and how far they stand behind it.

use crate::day::{Grade, Saying};
use crate::moment::Moment;
use crate::record::HEAD_DIGITS;
use crate::table::{Cell, Column, Row};

/// A release, a refusal, a closing or a concession in the name of somebody else than the lead whose file it is, and what
/// that person did about it.
#[derive(Debug, Clone)]
pub struct Confirmation {
    /// What they are said to have said.
    pub saying: Saying,
    /// The hash of its entry: what a key of their own signs.
    pub hash: String,
    /// How far the person stands behind it.
    pub grade: Grade,
    /// When they confirmed it.
    pub at: Option<Moment>,
    /// The reply, the scan of the paper, or the fingerprint of the key.
    pub how: Option<String>,
}

impl Confirmation {
    /// Whether nobody but the typist says so.
    pub fn is_open(&self) -> bool {
        self.grade == Grade::Typed
    }

    /// For pages: who typed it, and what the person did about it.
    pub fn in_words(&self) -> String {
        let said = format!("as noted by {}; {}", self.saying.typed_by, self.grade.in_words());
        match (self.grade, self.how.as_deref()) {
            (Grade::Typed, _) => format!("{said} by {}", self.saying.person),
            (Grade::Reply, Some(reply)) => format!("{said}: {reply}"),
            // Enough to compare; `tables/confirmations.csv` has it whole.
            (Grade::OwnKey, Some(key)) => format!("{said} (key {}…)", key.get(..HEAD_DIGITS).unwrap_or(key)),
            (_, Some(how)) => format!("{said} ({how})"),
            (_, None) => said,
        }
    }
}

impl Row for Confirmation {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "entry", title: "Entry", cell: |it| Cell::text(it.saying.entry.to_string()) },
        Column { key: "person", title: "In the name of", cell: |it| (&it.saying.person).into() },
        Column { key: "grade", title: "Grade", cell: |it| it.grade.word().into() },
        Column { key: "at", title: "Confirmed", cell: |it| it.at.into() },
        Column { key: "what", title: "What", cell: |it| it.saying.in_words().into() },
        Column { key: "noted_by", title: "Noted by", cell: |it| (&it.saying.typed_by).into() },
        Column { key: "how", title: "How", cell: |it| it.how.as_ref().into() },
        Column { key: "hash", title: "SHA-256", cell: |it| (&it.hash).into() },
    ];
}
