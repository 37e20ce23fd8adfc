//! Forms: TOML files read field by field, with every mistake collected, not only the first.
//!
//! A [`Shape`] declares the fields of one table. The same declaration refuses unknown keys, checks
//! types and ranges, and writes the JSON Schema that editors complete from: see [`schema`].

mod read;
pub mod schema;
mod shape;

pub use read::{Section, Sheet, Spot, check_key, check_name, nearest};
pub use shape::{Field, Kind, Shape};

/// One mistake in a file: where, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mistake {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong and the way to mend it.
    pub message: String,
}

impl Mistake {
    /// The mistake as compilers print it: `FILE:LINE:COLUMN: message`.
    pub fn in_file(&self, file: &str) -> String {
        format!("{file}:{}:{}: {}", self.line, self.column, self.message)
    }
}
