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
    pub kind: ReservationKind,
    /// What to know, in one sentence.
    pub what: String,
    /// The same without what was noted of it since.
    #[serde(skip)]
    pub brief: String,
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

/// What a reservation is about; first what would cost most whoever signs (docs/pack.md).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, strum::IntoStaticStr, strum::VariantArray)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum ReservationKind {
    // It stands against the drawings or without them: the consent itself is in question.
    /// Out of tolerance or order, and let stand.
    Concession,
    /// Extra work, which no drawing shows.
    Extra,
    // It is covered, without a photo or on the word of somebody who has not confirmed it: to look again is to open the wall.
    /// No photo of what is covered.
    NoPhoto,
    /// Not confirmed by whoever is said to have said it.
    NotConfirmed,
    // It may let water in, and a joint is cut out and sealed again.
    /// Done again after a time limit, without the work before it.
    Redo,
    /// Rain on fresh sealant.
    Rain,
    /// Sealed without a batch or a reading.
    SealedWithout,
    /// A time limit that still runs.
    Window,
    // It may cost the warranty.
    /// Left to others, who have until a day.
    HandedOn,
    /// Judged by common practice.
    Basis,
    /// Papers that the job does not hold.
    Papers,
    /// No delivery recorded.
    Product,
    /// No batch named.
    Batch,
    // It may show.
    /// Two batches side by side.
    SecondBatch,
    // The record itself proves less than it seems to.
    /// Books that went apart.
    Fork,
    /// A photo that can't show what it is there to show.
    Photo,
    /// Photos of several places with one position.
    PhotoPosition,
    /// Many steps in one minute.
    AtOnce,
    /// Recorded late.
    Late,
    /// A site day that is not closed.
    Day,
}

impl ReservationKind {
    /// The word, for tables.
    pub fn word(self) -> &'static str {
        self.into()
    }
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
        Column { key: "sort", title: "Kind", cell: |it| it.kind.word().into() },
        Column { key: "subject", title: "Where", cell: |it| it.subject.as_ref().into() },
        Column { key: "what", title: "What to know", cell: |it| (&it.what).into() },
        Column { key: "entry", title: "Entry", cell: |it| it.entry.as_ref().map(EntryId::to_string).into() },
    ];
}
