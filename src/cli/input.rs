//! Files that a sum or a command reads: text, and tables with named columns.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

use super::failure::Failure;
use crate::form::{self, Mistake, Number, Section};
use crate::units::{Bounds, number::shortened, parse_decimal};

/// Files larger than this are not site data.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// Reads a text file.
///
/// # Errors
/// [`Failure::Input`] when it is missing, is not a file, is not UTF-8 text or is absurdly large.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    let name = path.display();
    let about = |why: String| Failure::input(format!("{name}: {why}"));
    let data = std::fs::metadata(path).map_err(|error| about(format!("can't be read: {error}")))?;
    if data.is_dir() {
        return Err(about("is a folder, a file is wanted".into()));
    }
    let large = || format!("is larger than {} MiB", MOST_BYTES / 1024 / 1024);
    if data.len() > MOST_BYTES {
        return Err(about(large()));
    }
    // A pipe or a device does not say how long it is: no more is read than a file may have.
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| about(format!("can't be read: {error}")))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(about(large()));
    }
    let text = String::from_utf8(bytes).map_err(|_| about("is not text (UTF-8)".into()))?;
    // A byte-order mark is what spreadsheets put in front; it is not part of the first name.
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// Lengths and heights in the inputs of a sum, in mm.
pub const MM: Number = Number(-200_000.0, 200_000.0);

/// Reads a TOML file through a form; `name` is what it is called in messages.
///
/// # Errors
/// [`Failure::Input`] with every mistake, worded `FILE:LINE:COLUMN: why`.
pub fn read_toml<T>(path: &Path, name: &'static str, form: impl FnOnce(&Section<'_>) -> T) -> Result<T, Failure> {
    form::read(&read_text(path)?, name, form).map_err(|mistakes| mistakes_in(path, &mistakes))
}

/// The mistakes of a file as one failure.
pub fn mistakes_in(file: &Path, mistakes: &[Mistake]) -> Failure {
    let file = file.display().to_string();
    let lines: Vec<String> = mistakes.iter().map(|mistake| mistake.in_file(&file)).collect();
    Failure::input(lines.join("\n"))
}

/// One row of a table, its cells by column name.
#[derive(Debug, Clone)]
pub struct Row {
    file: String,
    /// The line of the file that the row begins on, counted from 1.
    pub line: u64,
    cells: BTreeMap<String, String>,
}

/// Reads a CSV file with a header row; columns are found by name, in any order.
///
/// Every name in `needed` must be there; `optional` ones may be absent; any other is bad input.
///
/// # Errors
/// [`Failure::Input`] naming the file, the line and what is wrong with it.
pub fn read_table(path: &Path, needed: &[&str], optional: &[&str]) -> Result<Vec<Row>, Failure> {
    table_of(&path.display().to_string(), &read_text(path)?, needed, optional)
}

/// [`read_table`] on text already in hand; `file` is the name used in messages.
///
/// # Errors
/// As [`read_table`].
pub fn table_of(file: &str, text: &str, needed: &[&str], optional: &[&str]) -> Result<Vec<Row>, Failure> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let at = |line: u64, why: String| Failure::input(format!("{file}:{line}: {why}"));
    let header = reader.headers().map_err(|error| at(1, error.to_string()))?.clone();
    if header.iter().all(str::is_empty) {
        return Err(at(1, format!("is empty: the first line names the columns {}", needed.join(", "))));
    }
    for (place, name) in header.iter().enumerate() {
        if !needed.contains(&name) && !optional.contains(&name) {
            let known = needed.iter().chain(optional).copied().collect::<Vec<_>>().join(", ");
            return Err(at(1, format!("column '{}' is not known; the columns are {known}", shortened(name))));
        }
        if header.iter().take(place).any(|other| other == name) {
            return Err(at(1, format!("column '{name}' stands twice")));
        }
    }
    if let Some(missing) = needed.iter().find(|name| !header.iter().any(|have| have == **name)) {
        return Err(at(1, format!("column '{missing}' is missing")));
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let line = error.position().map_or(0, csv::Position::line);
            at(line, error.to_string())
        })?;
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() != header.len() {
            return Err(at(line, format!("has {} cells, the header has {}", record.len(), header.len())));
        }
        let cells = header.iter().zip(record.iter()).map(|(name, cell)| (name.to_owned(), cell.to_owned())).collect();
        rows.push(Row { file: file.to_owned(), line, cells });
    }
    if rows.is_empty() {
        return Err(at(2, "has no rows under its header".into()));
    }
    Ok(rows)
}

impl Row {
    /// The cell's text; empty when the column is absent.
    pub fn text(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// The cell as a number within `bounds`; `None` when blank.
    ///
    /// # Errors
    /// [`Failure::Input`] naming file, line and column.
    pub fn decimal_or_blank(&self, column: &str, bounds: &Bounds) -> Result<Option<f64>, Failure> {
        let text = self.text(column);
        if text.is_empty() {
            return Ok(None);
        }
        let value = parse_decimal(text).map_err(|error| self.error(format!("{column}: {error}")))?;
        bounds.check(value).map_err(|error| self.error(format!("{column}: {error}")))?;
        Ok(Some(value))
    }

    /// The cell as a number within `bounds`.
    ///
    /// # Errors
    /// [`Failure::Input`] naming file, line and column; a blank cell is one.
    pub fn decimal(&self, column: &str, bounds: &Bounds) -> Result<f64, Failure> {
        self.decimal_or_blank(column, bounds)?.ok_or_else(|| self.error(format!("{column} is blank")))
    }

    /// A error of this row, worded `FILE:LINE: why`.
    pub fn error(&self, why: impl std::fmt::Display) -> Failure {
        Failure::input(format!("{}:{}: {why}", self.file, self.line))
    }
}
