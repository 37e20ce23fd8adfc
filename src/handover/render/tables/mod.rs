//! The tables of the pack as CSV: one row a record, units in the headings, times as RFC 3339.

mod costs;
mod materials;
mod work;

use crate::handover::model::{Document, Number};
use crate::record::{Entry, EntryId, LogRow};
use crate::sequence::EditionChange;
use crate::table::{Cell, Row, csv, csv_text};

/// Every table: its path in the pack and its bytes. What a command lists too has the columns of that command.
pub fn tables(document: &Document<'_>) -> Vec<(String, Vec<u8>)> {
    let state = document.state();
    let all = [
        ("steps", work::steps(document)),
        ("measurements", work::measurements(document)),
        ("readings", work::readings(document)),
        ("windows", work::windows(document)),
        ("joints", work::joints(document)),
        ("batches", materials::batches(document)),
        ("ordered_used", materials::ordered_used(document)),
        ("takeoff", materials::takeoff(document)),
        ("cuts", materials::cuts(document)),
        ("holds", csv(&document.holds)),
        ("reservations", csv(&document.reservations)),
        ("confirmations", csv(&document.confirmations)),
        ("stamps", csv(&document.stamps)),
        ("defects", work::defects(document)),
        ("entries", csv(&log(document))),
        ("hours", costs::hours(document)),
        ("cautions", work::cautions(document)),
        ("photos", work::photos(document)),
        ("stoppages", csv(&document.stoppages)),
        ("extras", csv(&state.extras)),
        ("quantities", costs::quantities(document)),
    ];
    all.into_iter().map(|(name, bytes)| (format!("tables/{name}.csv"), bytes)).collect()
}

/// The whole record, oldest first, as `cladlog log` lists it.
fn log(document: &Document<'_>) -> Vec<LogRow> {
    let changes_by = |entry: &EntryId| {
        let edition = document.editions.iter().find(|edition| edition.entry == *entry && edition.why.is_some());
        edition.map(|edition| edition.changes.iter().map(EditionChange::in_words).collect())
    };
    let row = |entry: &Entry| LogRow {
        struck_by: document.state().struck.get(&entry.id()).cloned(),
        changes: changes_by(&entry.id()),
        entry: entry.clone(),
    };
    document.book.entries.iter().map(row).collect()
}

/// A table of numbered rows with the columns of their kind.
fn numbered<R: Row>(rows: &[(Number, &R)]) -> Vec<u8> {
    let heading = std::iter::once("number").chain(R::COLUMNS.iter().map(|column| column.key)).map(str::to_owned);
    let row = |(number, row): &(Number, &R)| {
        let cells = R::COLUMNS.iter().map(|column| (column.cell)(row).plain());
        std::iter::once(number.to_string()).chain(cells).collect()
    };
    csv_text(&std::iter::once(heading.collect()).chain(rows.iter().map(row)).collect::<Vec<_>>())
}

/// A cell that something writes in words, or nothing.
fn words(text: Option<impl ToString>) -> Cell {
    text.map(|text| text.to_string()).into()
}
