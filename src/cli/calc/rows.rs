//! The rows of a sum: from a CSV file, typed on the command line, or asked for.

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::input::read_text;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::form::{Columns, Row, Rows, read_rows, read_typed_rows};

#[derive(Debug, Args)]
pub struct RowsArgs {
    /// CSV file; its first line names the columns, in any order
    pub file: Option<PathBuf>,
    /// A row typed here instead, its cells in this order; give it again for each row
    #[arg(long = "row", value_name = "CELLS", conflicts_with = "file", allow_hyphen_values = true)]
    pub rows: Vec<String>,
}

impl RowsArgs {
    /// Whether no rows were given.
    pub fn is_empty(&self) -> bool {
        self.file.is_none() && self.rows.is_empty()
    }

    /// Reads the rows; where none were given they are asked for.
    pub fn read<T>(&self, columns: &Columns, read: impl Fn(&Row<'_>) -> Result<T, String>) -> Result<Rows<T>, Failure> {
        let rows = match &self.file {
            Some(file) => read_rows(&file.display().to_string(), &read_text(file)?, columns, read),
            None if self.rows.is_empty() => read_typed_rows(&ask(columns, &read)?, columns, read),
            None => read_typed_rows(&self.rows, columns, read),
        };
        rows.map_err(|mistakes| Failure::input(mistakes.join("\n")))
    }
}

/// Stops where there is no terminal to ask at.
pub fn must_be_asked(columns: &Columns) -> Result<(), Failure> {
    if std::io::stdin().is_terminal() && std::io::stderr().is_terminal() {
        return Ok(());
    }
    let hint = format!("Give a CSV file with the columns {0}, or rows as --row {0}.", columns.listed());
    Err(Failure::input_hint("there are no rows, and no terminal to ask for them", hint))
}

fn ask<T>(columns: &Columns, read: impl Fn(&Row<'_>) -> Result<T, String>) -> Result<Vec<String>, Failure> {
    must_be_asked(columns)?;
    let mut rows: Vec<String> = Vec::new();
    loop {
        let end = if rows.is_empty() { "" } else { " (Enter to finish)" };
        let row = Question::of_any_text(format!("Row {}{end}", rows.len() + 1), |text: &str| {
            if text.is_empty() && !rows.is_empty() {
                return Ok(None);
            }
            let typed = [text.to_owned()];
            match read_typed_rows(&typed, columns, &read) {
                Ok(_) => Ok(Some(typed)),
                Err(mistakes) => Err(mistakes[0].trim_start_matches("--row 1: ").to_owned()),
            }
        });
        match Terminal.ask(row.above(columns.listed()))? {
            Some(row) => rows.extend(row),
            None => return Ok(rows),
        }
    }
}
