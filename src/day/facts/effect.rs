//! What an entry opened and closed.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::building::SubjectIx;
use crate::record::{DefectId, EntryId};

/// Something that stands open for a time.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// A site day.
    Day {
        /// The device that opened it.
        device: Arc<str>,
        /// Its date.
        date: NaiveDate,
    },
    /// A defect.
    Defect(DefectId),
    /// A hold point that is not released.
    Hold {
        /// Key of the hold point.
        hold: String,
        /// Index of the subject.
        subject: SubjectIx,
    },
    /// A stoppage, by the entry that started it.
    Stoppage(EntryId),
    /// A window that runs: begun, not answered, not lapsed.
    Window {
        /// Key of the window.
        window: String,
        /// Index of the subject.
        subject: SubjectIx,
    },
}

/// What happened to a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// It was opened.
    Opened(Thing),
    /// It was closed.
    Closed(Thing),
    /// It stands otherwise, and as open as before: a release was refused.
    Changed(Thing),
}

impl Thing {
    /// The word for it, as the contract writes it.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Day { .. } => "day",
            Self::Defect(_) => "defect",
            Self::Hold { .. } => "hold",
            Self::Stoppage(_) => "stoppage",
            Self::Window { .. } => "window",
        }
    }
}

impl Effect {
    /// What it happened to.
    pub fn thing(&self) -> &Thing {
        match self {
            Self::Opened(thing) | Self::Closed(thing) | Self::Changed(thing) => thing,
        }
    }
}
