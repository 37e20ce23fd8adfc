//! Forms: TOML files read field by field, with every mistake collected, not only the first.
//!
//! A form is a function from a [`Section`] to a value. Each field is declared where it is read, in one line: its key,
//! its [`Kind`] and what it says. The same declaration refuses unknown keys, names what is missing, checks types and
//! ranges, and writes the JSON Schema that editors complete from.
//!
//! ```
//! use cladlog::form::{Duration, Name, Number, Section, read};
//!
//! fn coat(coat: &Section<'_>) -> (String, f64, Option<chrono::TimeDelta>) {
//!     (
//!         coat.required("product", Name, "what is put on"),
//!         coat.required("ml_per_m2", Number(1.0, 5_000.0), "how much of it"),
//!         coat.optional("drying", Duration, "how long it dries"),
//!     )
//! }
//!
//! assert!(read("product = \"primer\"\nml_per_m2 = 150\n", "coat", coat).is_ok());
//! let mistakes = read("product = \"primer\"\nml_per_m3 = 150\ndrying = \"soon\"\n", "coat", coat).unwrap_err();
//! assert_eq!(mistakes[1].in_file("coat.toml"), "coat.toml:2:1: unknown key 'ml_per_m3' in a coat: did you mean 'ml_per_m2'?");
//! ```

mod kinds;
mod mistake;
mod names;
mod number;
mod reader;
mod rows;
mod schema;
#[cfg(test)]
mod tests;
mod text;

pub use kinds::{
    At, Checked, Duration, Flag, Key, List, Name, OneOrMore, Pair, Table, Text, Time, Word, table, tables, word,
};
pub use mistake::Mistake;
pub use names::{check_person, is_same_name, looks_latin};
pub use number::{Count, Exact, Number};
pub use reader::{Given, Kind, Section, read};
pub use rows::{Columns, InRow, Row, Rows, read_rows, read_typed_rows};
pub use schema::{json_schema, outline};
pub use text::{check_key, check_name, nearest};
