//! A mistake and its place.

/// One mistake in a file: where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mistake {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong and what to do about it.
    pub message: String,
}

impl Mistake {
    /// The mistake as compilers print it: `FILE:LINE:COLUMN: message`.
    pub fn in_file(&self, file: &str) -> String {
        format!("{file}:{}:{}: {}", self.line, self.column, self.message)
    }
}
