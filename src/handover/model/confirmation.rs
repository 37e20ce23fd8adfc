//! What was typed in somebody's name, and how far they stand behind it.

use crate::moment::Moment;
use crate::record::EntryId;
use crate::table::{Cell, Column, Row};

/// How far a person stands behind what is said in their name; the strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Grade {
    /// They signed the entry's hash with a key of their own.
    OwnKey,
    /// They signed paper.
    SignedPaper,
    /// They replied, as the crew noted.
    Reply,
    /// Nobody but the typist says so.
    Typed,
}

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
        let noted = format!("as noted by {}", self.noted_by);
        let how = self.how.as_deref().unwrap_or_default();
        match self.grade {
            Grade::OwnKey => format!("{noted}; confirmed with their own key ({how})"),
            Grade::SignedPaper => format!("{noted}; confirmed on signed paper ({how})"),
            Grade::Reply => format!("{noted}; confirmed by a reply, also as noted: {how}"),
            Grade::Typed => format!("{noted}; not confirmed"),
        }
    }
}

impl Row for Confirmation {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "entry", title: "Entry", cell: |it| Cell::text(it.entry.to_string()) },
        Column { key: "person", title: "In the name of", cell: |it| (&it.person).into() },
        Column { key: "grade", title: "Grade", cell: |it| <&str>::from(it.grade).into() },
        Column { key: "at", title: "Confirmed", cell: |it| it.at.into() },
        Column { key: "what", title: "What", cell: |it| (&it.what).into() },
        Column { key: "noted_by", title: "Noted by", cell: |it| (&it.noted_by).into() },
        Column { key: "how", title: "How", cell: |it| it.how.as_ref().into() },
        Column { key: "hash", title: "SHA-256", cell: |it| (&it.hash).into() },
    ];
}
