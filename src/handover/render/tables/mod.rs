//! The tables of the pack as CSV: one row a record, units in the headings, times as RFC 3339.

mod costs;
mod materials;
mod sealing;
mod work;

use crate::handover::model::Document;
use crate::moment::Moment;
use crate::table::csv_text;

/// Every table: its path in the pack and its bytes.
pub fn tables(document: &Document) -> Vec<(String, Vec<u8>)> {
    let all = [
        ("steps", work::steps(document)),
        ("measurements", work::measurements(document)),
        ("readings", work::readings(document)),
        ("windows", work::windows(document)),
        ("joints", sealing::joints(document)),
        ("batches", materials::batches(document)),
        ("ordered_used", materials::compared(document)),
        ("takeoff", materials::takeoff(document)),
        ("cuts", materials::cuts(document)),
        ("holds", work::holds(document)),
        ("defects", work::defects(document)),
        ("entries", work::entries(document)),
        ("hours", work::hours(document)),
        ("cautions", work::cautions(document)),
        ("photos", work::photos(document)),
    ];
    let all = all.into_iter().chain(costs::tables(document));
    all.map(|(name, rows)| (format!("tables/{name}.csv"), csv_text(&rows))).collect()
}

pub fn heading(columns: &[&str]) -> Vec<Vec<String>> {
    vec![columns.iter().map(|column| (*column).to_owned()).collect()]
}

pub fn time(moment: &Option<Moment>) -> String {
    moment.as_ref().map(Moment::to_string).unwrap_or_default()
}

pub fn or_empty(text: &Option<String>) -> String {
    text.clone().unwrap_or_default()
}

pub fn number(value: f64) -> String {
    value.to_string()
}

pub fn yes(flag: bool) -> String {
    if flag { "yes" } else { "no" }.to_owned()
}
