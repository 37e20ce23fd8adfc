//! Tables of comma-separated values: columns by name, in any order; every row that is wrong is named.

use std::fmt::Display;

use csv::{ReaderBuilder, StringRecord, Trim};

use crate::plain::count;
use crate::units::number::shortened;
use crate::units::{parse_count, parse_decimal};

/// The columns of a table, in the order in which a row is typed.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Those that must be there.
    pub required: &'static [&'static str],
    /// Those that may be left out; any other is a mistake.
    pub optional: &'static [&'static str],
}

impl Columns {
    /// The names, with commas between.
    pub fn listed(&self) -> String {
        self.required.iter().chain(self.optional).copied().collect::<Vec<_>>().join(",")
    }
}

/// One row: its cells by column.
pub struct Row<'r> {
    header: &'r StringRecord,
    cells: &'r StringRecord,
}

impl<'r> Row<'r> {
    /// The text of a cell; empty when the column is absent.
    pub fn text(&self, column: &str) -> &'r str {
        self.header.iter().position(|name| name == column).and_then(|at| self.cells.get(at)).unwrap_or_default()
    }

    /// A cell as a number; `None` when blank.
    ///
    /// # Errors
    /// What is wrong with it, with the name of the column.
    pub fn number_or_blank(&self, column: &str) -> Result<Option<f64>, String> {
        match self.text(column) {
            "" => Ok(None),
            text => parse_decimal(text).map(Some).map_err(|error| format!("{column}: {error}")),
        }
    }

    /// A cell as a number.
    ///
    /// # Errors
    /// As [`Row::number_or_blank`]; a blank cell is a mistake, too.
    pub fn number(&self, column: &str) -> Result<f64, String> {
        self.number_or_blank(column)?.ok_or_else(|| format!("{column} is blank"))
    }

    /// A cell as a whole number of 0 or more.
    ///
    /// # Errors
    /// As [`Row::number`]; a fraction is a mistake, too.
    pub fn count(&self, column: &str) -> Result<u32, String> {
        match self.text(column) {
            "" => Err(format!("{column} is blank")),
            text => parse_count(text).map_err(|error| format!("{column}: {error}")),
        }
    }
}

/// What was read of each row, and where each stands.
#[derive(Debug)]
pub struct Rows<T> {
    /// What was read, in the order of the rows.
    pub values: Vec<T>,
    places: Vec<String>,
}

impl<T> Rows<T> {
    /// Values and the place of each, as messages name it; without places a mistake speaks for itself.
    pub fn new(values: Vec<T>, places: Vec<String>) -> Self {
        Self { values, places }
    }

    /// A mistake found later, with the place of its row.
    pub fn mistake<E: Display>(&self, error: &InRow<E>) -> String {
        match error.row.and_then(|row| self.places.get(row.checked_sub(1)?)) {
            Some(place) => format!("{place}: {error}"),
            None => error.to_string(),
        }
    }
}

/// What is wrong with one row, counted from 1, or with the table as a whole.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{error}")]
pub struct InRow<E> {
    /// The row.
    pub row: Option<usize>,
    /// What is wrong.
    pub error: E,
}

impl<E> InRow<E> {
    /// Of one row.
    pub fn of(row: usize, error: impl Into<E>) -> Self {
        Self { row: Some(row), error: error.into() }
    }

    /// Of the table as a whole.
    pub fn whole(error: impl Into<E>) -> Self {
        Self { row: None, error: error.into() }
    }
}

/// Reads the rows of a file that begins with a row of names; `file` is its name in messages.
///
/// # Errors
/// A mistake of the names, or the first mistake of every row, each with its line; never none.
pub fn read_rows<T>(
    file: &str,
    text: &str,
    columns: &Columns,
    read: impl Fn(&Row<'_>) -> Result<T, String>,
) -> Result<Rows<T>, Vec<String>> {
    let mut reader = ReaderBuilder::new().flexible(true).trim(Trim::All).from_reader(text.as_bytes());
    let header = reader.headers().map_err(|error| vec![format!("{file}:1: {error}")])?.clone();
    check_names(&header, columns).map_err(|why| vec![format!("{file}:1: {why}")])?;
    gather(reader, &header, &header.len().to_string(), |line| format!("{file}:{line}"), read)
}

/// Reads rows that were typed, each with its cells in the order of the columns; the last ones may be left out.
///
/// # Errors
/// As [`read_rows`].
pub fn read_typed_rows<T>(
    typed: &[String],
    columns: &Columns,
    read: impl Fn(&Row<'_>) -> Result<T, String>,
) -> Result<Rows<T>, Vec<String>> {
    let header: StringRecord = columns.required.iter().chain(columns.optional).collect();
    let (least, most) = (columns.required.len(), header.len());
    let padded = |row: &String| {
        let given = row.matches(',').count() + 1;
        let missing = if given < least { 0 } else { most.saturating_sub(given) };
        format!("{row}{}\n", ",".repeat(missing))
    };
    let wanted = if least == most { most.to_string() } else { format!("{least} to {most}") };
    let text: String = typed.iter().map(padded).collect();
    let builder = ReaderBuilder::new().has_headers(false).flexible(true).trim(Trim::All).from_reader(text.as_bytes());
    gather(builder, &header, &wanted, |line| format!("--row {line}"), read)
}

fn check_names(header: &StringRecord, columns: &Columns) -> Result<(), String> {
    if header.iter().all(str::is_empty) {
        return Err(format!("is empty: the first line names the columns {}", columns.listed()));
    }
    for (place, name) in header.iter().enumerate() {
        if !columns.required.contains(&name) && !columns.optional.contains(&name) {
            return Err(format!("column '{}' is not known; the columns are {}", shortened(name), columns.listed()));
        }
        if header.iter().take(place).any(|other| other == name) {
            return Err(format!("column '{name}' is given twice"));
        }
    }
    match columns.required.iter().find(|name| !header.iter().any(|given| given == **name)) {
        Some(missing) => Err(format!("column '{missing}' is missing")),
        None => Ok(()),
    }
}

/// More rows than any table has that these sums are for.
const MOST_ROWS: usize = 100_000;

/// So many mistakes are named one by one.
const MOST_MISTAKES: usize = 100;

fn gather<T>(
    mut reader: csv::Reader<&[u8]>,
    header: &StringRecord,
    wanted: &str,
    place: impl Fn(u64) -> String,
    read: impl Fn(&Row<'_>) -> Result<T, String>,
) -> Result<Rows<T>, Vec<String>> {
    let (mut rows, mut mistakes) = (Rows::new(Vec::new(), Vec::new()), Vec::new());
    for record in reader.records() {
        let line = |position: Option<&csv::Position>| place(position.map_or(0, csv::Position::line));
        let value = match &record {
            Err(error) => Err((line(error.position()), error.to_string())),
            Ok(cells) if cells.len() != header.len() => {
                let names = header.iter().collect::<Vec<_>>().join(",");
                let why = format!("has {}, not {wanted}: {names}", count(cells.len(), "cell"));
                Err((line(cells.position()), why))
            }
            Ok(cells) => match read(&Row { header, cells }) {
                Ok(value) => Ok((line(cells.position()), value)),
                Err(why) => Err((line(cells.position()), why)),
            },
        };
        match value {
            Ok((place, _)) if rows.values.len() == MOST_ROWS => {
                return Err(vec![format!("{place}: a table has at most {MOST_ROWS} rows")]);
            }
            Ok((place, value)) => {
                rows.values.push(value);
                rows.places.push(place);
            }
            Err((place, why)) => mistakes.push(format!("{place}: {why}")),
        }
        if mistakes.len() == MOST_MISTAKES {
            mistakes.push(format!("correct these {MOST_MISTAKES} first: the rest was not read"));
            break;
        }
    }
    if mistakes.is_empty() && rows.values.is_empty() {
        mistakes.push(format!("{}: has no rows", place(2)));
    }
    if mistakes.is_empty() { Ok(rows) } else { Err(mistakes) }
}
