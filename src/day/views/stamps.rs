//! The time stamps that the record keeps.

use crate::day::book::Book;
use crate::day::rules::{StampFlaw, stamp_of};
use crate::moment::Moment;
use crate::record::{Body, EntryId};
use crate::stamp::Stamp;
use crate::table::{Cell, Column, Row};

/// A time stamp that holds: the entry that was stamped, and all before it in its book, was there by then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StampRow {
    /// The entry that keeps it.
    pub entry: EntryId,
    /// The entry whose hash was stamped.
    pub stamped: EntryId,
    /// When, by the authority's clock, as clocks show it on site.
    pub at: Moment,
    /// What it says besides.
    pub stamp: Stamp,
    /// The authority's answer as it came.
    pub answer: Vec<u8>,
}

impl StampRow {
    /// What it shows, and what is left to whoever relies on it.
    pub fn in_words(&self) -> String {
        format!(
            "entry {} was stamped, and with it all before it in its book, at {} by {}",
            self.stamped,
            self.at.full(),
            self.stamp.authority
        )
    }
}

impl StampRow {
    /// For whoever checks a record that keeps it.
    pub fn to_check(&self) -> String {
        let certificate = &self.stamp.certificate_sha256;
        format!(
            "{}; whether that authority can be trusted is not known here: SHA-256 of its certificate {certificate}",
            self.in_words()
        )
    }
}

impl Row for StampRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "entry", title: "Kept by entry", cell: |it| Cell::text(it.entry.to_string()) },
        Column { key: "hash", title: "Stamped hash", cell: |it| (&it.stamp.hash).into() },
        Column { key: "stamped", title: "Entry", cell: |it| Cell::text(it.stamped.to_string()) },
        Column { key: "at", title: "Stamped", cell: |it| Cell::At(it.at) },
        Column { key: "authority", title: "By", cell: |it| (&it.stamp.authority).into() },
        Column {
            key: "certificate_sha256",
            title: "Its certificate",
            cell: |it| (&it.stamp.certificate_sha256).into(),
        },
    ];
}

/// The time stamps that are not struck, in the order in which they were taken: those that hold, and the entries of those
/// that don't, with the reason.
pub fn stamps(book: &Book) -> (Vec<StampRow>, Vec<(EntryId, StampFlaw)>) {
    let (mut rows, mut flawed) = (Vec::new(), Vec::new());
    for keeps in book.in_time() {
        let Body::StampTaken(it) = &keeps.body else { continue };
        let read = book.entry(&it.entry).ok_or(StampFlaw::Hash).and_then(|entry| stamp_of(entry, it));
        match read {
            Ok((stamp, answer)) => rows.push(StampRow {
                entry: keeps.id(),
                stamped: it.entry.clone(),
                at: stamp.at.at_site(book.state.job.time_zone),
                stamp,
                answer,
            }),
            Err(flaw) => flawed.push((keeps.id(), flaw)),
        }
    }
    (rows, flawed)
}
