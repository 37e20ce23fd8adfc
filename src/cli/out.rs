//! The one way out: results on stdout, everything else on stderr.

use std::cell::RefCell;
use std::io::{IsTerminal, Write};
use std::rc::Rc;

use serde::Serialize;
use tabled::builder::Builder;
use tabled::settings::{Alignment, Padding, Style, object::Columns, style::HorizontalLine};
use textwrap::WordSeparator;

use super::failure::Failure;
use crate::plain::{visible, visible_json};

/// Screens are laid out for this many columns, as far as the terminal allows.
pub const TERMINAL_WIDTH: usize = 80;

/// A place in memory to write to.
struct Buffer(Rc<RefCell<Vec<u8>>>);

impl Write for Buffer {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Where a command writes, and in which form.
pub struct Out {
    json: bool,
    colour: bool,
    stdout: Box<dyn Write>,
    stderr: Box<dyn Write>,
}

impl Out {
    /// Writes to the process's own stdout and stderr.
    pub fn process(json: bool, colour: bool) -> Self {
        Self { json, colour, stdout: Box::new(std::io::stdout()), stderr: Box::new(std::io::stderr()) }
    }

    /// Captures what is written to it as JSON, and says nothing: for commands that the program gives itself.
    pub fn captured() -> (Self, Rc<RefCell<Vec<u8>>>) {
        let buffer = Rc::new(RefCell::new(Vec::new()));
        let stdout = Box::new(Buffer(Rc::clone(&buffer)));
        (Self { json: true, colour: false, stdout, stderr: Box::new(std::io::sink()) }, buffer)
    }

    /// Whether the caller asked for JSON.
    pub fn is_json(&self) -> bool {
        self.json
    }

    /// Whether colour may be used.
    pub fn colour(&self) -> bool {
        self.colour
    }

    /// Writes the one JSON document of a command.
    pub fn json<T: Serialize>(&mut self, value: &T) -> Result<(), Failure> {
        self.json_text(&serde_json::to_string_pretty(value).map_err(Failure::machine)?)
    }

    /// [`Out::json`] of what is written as JSON already.
    pub fn json_text(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.stdout, "{}", visible_json(text))?;
        Ok(self.stdout.flush()?)
    }

    /// Writes one line of a result.
    pub fn line(&mut self, text: impl AsRef<str>) -> Result<(), Failure> {
        writeln!(self.stdout, "{}", visible(text.as_ref()))?;
        Ok(())
    }

    /// Writes a text of a result, broken at words for the width of the screen.
    pub fn wrapped(&mut self, text: &str, indent: usize) -> Result<(), Failure> {
        self.line(wrapped(text, indent))
    }

    /// Writes bytes as they are: a drawing, a calendar, a script for a shell.
    pub fn raw(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.stdout.write_all(bytes)?;
        Ok(self.stdout.flush()?)
    }

    /// Writes a table; the last column takes the wrapping.
    pub fn table<const N: usize>(
        &mut self,
        heading: [&str; N],
        rows: impl IntoIterator<Item = [String; N]>,
    ) -> Result<(), Failure> {
        writeln!(self.stdout, "{}", table_text(heading, rows))?;
        Ok(())
    }

    /// Writes rows as a table of all their columns.
    #[cfg(feature = "office")]
    pub fn rows<R: crate::table::Row>(&mut self, rows: &[R]) -> Result<(), Failure> {
        let (heading, cells) = crate::table::shown(rows, &[]);
        writeln!(self.stdout, "{}", laid_out(&heading, cells))?;
        Ok(())
    }

    /// Says what went wrong: broken at words where a person is looking, as it is where a program reads it.
    pub fn message(&mut self, text: &str) {
        let seen = std::io::stderr().is_terminal();
        for line in text.lines() {
            if seen { self.say(wrapped(line, 2)) } else { self.say(line) }
        }
    }

    /// Says something that is not the result: progress, a hint, a warning.
    pub fn say(&mut self, text: impl AsRef<str>) {
        // A message that can't be written has nowhere else to go.
        let _ = writeln!(self.stderr, "{}", visible(text.as_ref()));
    }
}

/// Whether colour is wanted: the flag first, then NO_COLOR, then whether a person is looking.
pub fn colour_wanted(flag: Option<bool>) -> bool {
    flag.unwrap_or_else(|| std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()) && std::io::stdout().is_terminal())
}

/// Lays out a table in plain characters, no wider than the screen where its words allow.
pub fn table_text<const N: usize>(heading: [&str; N], rows: impl IntoIterator<Item = [String; N]>) -> String {
    laid_out(&heading, rows.into_iter().map(Vec::from).collect())
}

fn laid_out(heading: &[&str], mut rows: Vec<Vec<String>>) -> String {
    rows.iter_mut().flatten().for_each(|cell| *cell = visible(cell));
    let widths = fitted(heading, &rows, TERMINAL_WIDTH);
    let in_lines = |(cell, width): (&str, &usize)| broken(cell, 0, *width).join("\n");
    let mut builder = Builder::default();
    builder.push_record(heading.iter().copied().zip(&widths).map(in_lines));
    for row in &rows {
        builder.push_record(row.iter().map(String::as_str).zip(&widths).map(in_lines));
    }
    let mut table = builder.build();
    table
        .with(Style::blank().horizontals([(1, HorizontalLine::new('-').intersection('-'))]))
        .with(Padding::new(0, 1, 0, 0))
        .with(Alignment::left());
    // A column of numbers reads down its last digit.
    for column in 0..heading.len() {
        let numeric = !rows.is_empty()
            && rows.iter().all(|row| {
                row.get(column).is_some_and(|cell| cell.is_empty() || crate::units::parse_decimal(cell).is_ok())
            });
        if numeric {
            table.modify(Columns::one(column), Alignment::right());
        }
    }
    table.to_string().lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// How wide each column may be: its own width, and the widest give way until the row fits.
fn fitted(heading: &[&str], rows: &[Vec<String>], columns: usize) -> Vec<usize> {
    /// Narrower than this a column of words is no longer read.
    const LEAST: usize = 12;
    let width_of = |text: &str| text.lines().map(console::measure_text_width).max().unwrap_or(0);
    let mut widths: Vec<usize> = heading
        .iter()
        .enumerate()
        .map(|(place, head)| {
            let cells = rows.iter().filter_map(|row| row.get(place)).map(|cell| width_of(cell));
            cells.chain([width_of(head)]).max().unwrap_or(0).min(columns)
        })
        .collect();
    // A space after each cell, and one between two.
    let between = (2 * widths.len()).saturating_sub(1);
    while widths.iter().sum::<usize>() + between > columns {
        match widths.iter_mut().max() {
            Some(widest) if *widest > LEAST => *widest -= 1,
            _ => break,
        }
    }
    widths
}

/// Breaks a text at words for the width of the screen; every line after the first is indented by `indent`.
pub fn wrapped(text: &str, indent: usize) -> String {
    broken(text, indent, TERMINAL_WIDTH).join("\n")
}

/// Breaks a text at words for `width` columns; every line after the first is indented by `indent`.
pub fn broken(text: &str, indent: usize, width: usize) -> Vec<String> {
    let text = text.trim_end();
    let lead = &text[..text.len() - text.trim_start().len()];
    let further = " ".repeat(indent);
    // Commands are there to be copied: words are kept whole, and nothing is hyphenated.
    // Subjects such as N/C3 are words; scripts that are written without spaces are broken as Unicode says.
    let spaceless = text.chars().any(|c| c >= '\u{2e80}');
    let separator = if spaceless { WordSeparator::UnicodeBreakProperties } else { WordSeparator::AsciiSpace };
    let options = textwrap::Options::new(width)
        .word_separator(separator)
        .initial_indent(lead)
        .subsequent_indent(&further)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text.trim_start(), options).into_iter().map(|line| line.into_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::broken;

    #[test]
    fn a_long_text_is_broken_at_words_and_indented() {
        assert_eq!(broken("  Why: one two three", 4, 14), ["  Why: one two", "    three"]);
        assert_eq!(broken("", 2, 10), [""]);
        assert_eq!(broken("unbreakable-as-it-is", 2, 10), ["unbreakable-as-it-is"]);
    }
}
