//! What whoever accepts the work should know before they sign.

use serde::Serialize;

use super::number::Number;
use crate::record::EntryId;
use crate::table::{Cell, Column, Row};

/// One thing to know before the work is accepted: it does not keep the job from being complete.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reservation {
    /// Its number, by its place among them all.
    pub number: Number,
    /// What kind of thing it is.
    #[serde(rename = "sort")]
    pub kind: &'static str,
    /// What to know, in one sentence.
    pub what: String,
    /// Where, written short; absent where it is about the whole job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub subject: Option<String>,
    /// The entry that it rests on, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<EntryId>,
    /// Ids of the subjects; none where it is about the whole job.
    #[serde(skip)]
    pub on: Vec<String>,
    /// What of the pages says more.
    #[serde(skip)]
    pub more: More,
}

/// A place in the pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum More {
    /// A section, by its id.
    Section(String),
    /// A defect or a photo.
    Numbered(Number),
}

impl Row for Reservation {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "number", title: "No.", cell: |it| Cell::text(it.number.to_string()) },
        Column { key: "sort", title: "Kind", cell: |it| it.kind.into() },
        Column { key: "subject", title: "Where", cell: |it| it.subject.as_ref().into() },
        Column { key: "what", title: "What to know", cell: |it| (&it.what).into() },
        Column { key: "entry", title: "Entry", cell: |it| it.entry.as_ref().map(EntryId::to_string).into() },
    ];
}
