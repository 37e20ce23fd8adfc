//! Tables: what a row says, column by column, said once for JSON, CSV, the terminal and the pages.

use serde::Serializer;
use serde_json::{Map, Value};

use crate::moment::Moment;
use crate::plain::visible;
use crate::units::number::show;

/// What one row says in one column.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing: left out of JSON, empty elsewhere.
    Absent,
    /// Words.
    Text(String),
    /// A number, in the unit that the column's key names.
    Number(f64),
    /// A whole number.
    Count(u64),
    /// Yes or no.
    Yes(bool),
    /// A moment.
    At(Moment),
    /// Several words, such as names.
    List(Vec<String>),
}

/// One column of a table over rows of a kind.
pub struct Column<R> {
    /// Its name in JSON and CSV, snake_case, with the unit where there is one.
    pub key: &'static str,
    /// Its heading for people.
    pub title: &'static str,
    /// What a row says in it.
    pub cell: fn(&R) -> Cell,
}

/// Something that is listed: it says its columns once.
pub trait Row: Sized + 'static {
    /// Every column, in order.
    const COLUMNS: &'static [Column<Self>];

    /// The row as a JSON object; what is absent is left out.
    fn json(&self) -> Value {
        let cells = Self::COLUMNS.iter().map(|column| (column.key, (column.cell)(self)));
        let fields = cells.filter_map(|(key, cell)| Some((key.to_owned(), cell.json()?)));
        Value::Object(fields.collect::<Map<_, _>>())
    }
}

impl Cell {
    /// Words, or nothing.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    fn json(self) -> Option<Value> {
        Some(match self {
            Self::Absent => return None,
            Self::Text(text) => text.into(),
            Self::Number(number) => number.into(),
            Self::Count(count) => count.into(),
            Self::Yes(yes) => yes.into(),
            Self::At(moment) => moment.to_string().into(),
            Self::List(list) => list.into(),
        })
    }

    /// As a table of comma-separated values has it: times as RFC 3339, lists parted by semicolons.
    pub fn plain(&self) -> String {
        match self {
            Self::Absent => String::new(),
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
            Self::Count(count) => count.to_string(),
            Self::Yes(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            Self::At(moment) => moment.to_string(),
            Self::List(list) => list.join("; "),
        }
    }

    /// As people read it, on a terminal or a page: times by the site's clocks, lists parted by commas.
    pub fn shown(&self) -> String {
        match self {
            Self::Number(number) => show(*number),
            Self::At(moment) => moment.format("%a %-d %b %H:%M").to_string(),
            Self::List(list) => list.join(", "),
            other => other.plain(),
        }
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Absent, Into::into)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<u32> for Cell {
    fn from(count: u32) -> Self {
        Self::Count(count.into())
    }
}

impl From<u64> for Cell {
    fn from(count: u64) -> Self {
        Self::Count(count)
    }
}

impl From<bool> for Cell {
    fn from(yes: bool) -> Self {
        Self::Yes(yes)
    }
}

impl From<Moment> for Cell {
    fn from(moment: Moment) -> Self {
        Self::At(moment)
    }
}

impl From<Vec<String>> for Cell {
    fn from(list: Vec<String>) -> Self {
        Self::List(list)
    }
}

/// Rows as comma-separated values, the keys of their columns first; formulas are disarmed.
pub fn csv<'r, R: Row>(rows: impl IntoIterator<Item = &'r R>) -> Vec<u8> {
    let heading = R::COLUMNS.iter().map(|column| column.key.to_owned()).collect();
    let cells = |row: &R| R::COLUMNS.iter().map(|column| (column.cell)(row).plain()).collect();
    let lines: Vec<Vec<String>> = std::iter::once(heading).chain(rows.into_iter().map(cells)).collect();
    csv_text(&lines)
}

/// A JSON value without its nulls, at any depth: what is not there is left out.
pub fn without_nulls(value: Value) -> Value {
    match value {
        Value::Object(fields) => Value::Object(
            fields.into_iter().filter(|(_, v)| !v.is_null()).map(|(k, v)| (k, without_nulls(v))).collect(),
        ),
        Value::Array(items) => Value::Array(items.into_iter().map(without_nulls).collect()),
        other => other,
    }
}

/// One column of a table that is written in one place only: its key, and its cell in a row.
pub type CsvColumn<'c, R> = (&'static str, &'c dyn Fn(&R) -> Cell);

/// Rows of any kind as comma-separated values, the keys of the columns first; formulas are disarmed.
pub fn csv_of<R>(rows: impl IntoIterator<Item = R>, columns: &[CsvColumn<'_, R>]) -> Vec<u8> {
    let heading = columns.iter().map(|(key, _)| (*key).to_owned()).collect();
    let cells = |row: R| columns.iter().map(|(_, cell)| cell(&row).plain()).collect();
    csv_text(&std::iter::once(heading).chain(rows.into_iter().map(cells)).collect::<Vec<_>>())
}

/// Rows within something else that is serialised: each as [`Row::json`].
///
/// # Errors
/// Those of the serialiser.
pub fn as_rows<R: Row, S: Serializer>(rows: &[R], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(rows.iter().map(Row::json))
}

/// Lines of cells as comma-separated values; formulas are disarmed.
pub fn csv_text(lines: &[Vec<String>]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).flexible(true).from_writer(Vec::new());
    for line in lines {
        // Writing to memory can't fail.
        let _ = writer.write_record(line.iter().map(|cell| guarded(cell)));
    }
    writer.into_inner().unwrap_or_default()
}

/// A cell that a spreadsheet would run as a formula gets an apostrophe in front; numbers stay numbers.
pub fn guarded(cell: &str) -> String {
    let risky = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let digits = cell.strip_prefix(['+', '-']).unwrap_or(cell);
    let number = digits.starts_with(|c: char| c.is_ascii_digit()) && cell.parse::<f64>().is_ok();
    // A table is read on a terminal as well: control characters are shown, never obeyed.
    let shown = visible(cell);
    if risky && !number { format!("'{shown}") } else { shown }
}

/// Headings and cells for people, of the columns with these keys, in that order; all of them where none is named.
pub fn shown<'r, R: Row>(
    rows: impl IntoIterator<Item = &'r R>,
    keys: &[&str],
) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let all = keys.is_empty().then(|| R::COLUMNS.iter().collect::<Vec<_>>());
    let named = || keys.iter().filter_map(|key| R::COLUMNS.iter().find(|column| column.key == *key)).collect();
    let columns: Vec<&Column<R>> = all.unwrap_or_else(named);
    let cells = |row: &R| columns.iter().map(|column| (column.cell)(row).shown()).collect();
    let titles = columns.iter().map(|column| column.title).collect();
    (titles, rows.into_iter().map(cells).collect())
}

/// Items with the same key together, in the order in which each key first comes.
pub fn grouped<K: PartialEq, V>(items: impl IntoIterator<Item = (K, V)>) -> Vec<(K, Vec<V>)> {
    let mut groups: Vec<(K, Vec<V>)> = Vec::new();
    for (key, value) in items {
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, values)) => values.push(value),
            None => groups.push((key, vec![value])),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Board {
        label: String,
        length_mm: Option<f64>,
    }

    impl Row for Board {
        const COLUMNS: &'static [Column<Self>] = &[
            Column { key: "label", title: "Label", cell: |board| (&board.label).into() },
            Column { key: "length_mm", title: "Length mm", cell: |board| board.length_mm.into() },
        ];
    }

    #[test]
    fn a_row_says_its_columns_once() {
        let boards =
            [Board { label: "=1+1".into(), length_mm: Some(2999.5) }, Board { label: "b, c".into(), length_mm: None }];
        assert_eq!(boards[0].json(), serde_json::json!({ "label": "=1+1", "length_mm": 2999.5 }));
        assert_eq!(boards[1].json(), serde_json::json!({ "label": "b, c" }));
        assert_eq!(csv(&boards), b"label,length_mm\r\n'=1+1,2999.5\r\n\"b, c\",\r\n");
        assert_eq!(shown(&boards, &["length_mm"]), (vec!["Length mm"], vec![vec!["2999.5".into()], vec!["".into()]]));
    }

    #[test]
    fn formulas_are_disarmed_and_numbers_are_not() {
        for (cell, wanted) in [
            ("=1+1", "'=1+1"),
            ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
            ("-2+3", "'-2+3"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\tx", "'\tx"),
            // A return is shown for what it is, and still guarded.
            ("\rx", "'\u{fffd}x"),
            ("-inf", "'-inf"),
            ("-2.5", "-2.5"),
            ("+3", "+3"),
            ("-2e3", "-2e3"),
            ("2-1", "2-1"),
            ("", ""),
            ("'=x", "'=x"),
        ] {
            assert_eq!(guarded(cell), wanted);
        }
    }
}
