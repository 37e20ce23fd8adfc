//! What stops a step, before it is known whether somebody asks for it or has done it.

use crate::moment::Moment;
use crate::refusal::{Refusal, Rule};

/// Something that stops a step.
#[derive(Debug, Clone)]
pub struct Breach {
    /// The rule.
    pub rule: Rule,
    /// The hold point, window, limit or caution; part of the id of the defect that it may become.
    pub key: String,
    /// Why: what was given and what is required.
    pub why: String,
    /// What clears it.
    pub clears: String,
    /// When it opens.
    pub opens_at: Option<Moment>,
    /// When it closed.
    pub closed_at: Option<Moment>,
}

impl Breach {
    pub(super) fn new(rule: Rule, key: &str, why: impl Into<String>, clears: impl Into<String>) -> Self {
        Self { rule, key: key.to_owned(), why: why.into(), clears: clears.into(), opens_at: None, closed_at: None }
    }

    /// The refusal that says it.
    pub fn refusal(&self, what: String) -> Refusal {
        let refusal = Refusal::new(self.rule, what, self.why.clone(), self.clears.clone());
        Refusal { opens_at: self.opens_at, closed_at: self.closed_at, ..refusal }
    }
}
