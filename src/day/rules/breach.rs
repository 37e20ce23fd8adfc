//! What stops a step, before it is known whether somebody asks for it or has done it.

use super::missed::Missed;
use crate::moment::Moment;
use crate::record::StoppedBy;
use crate::refusal::{Clears, Refusal, Rule};

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
    pub clears: Clears,
    /// How it misses its window, where it misses one.
    pub missed: Option<Missed>,
    /// When it opens.
    pub opens_at: Option<Moment>,
    /// When it closed.
    pub closed_at: Option<Moment>,
}

impl Breach {
    pub(super) fn new(rule: Rule, key: &str, why: impl Into<String>, clears: impl Into<Clears>) -> Self {
        let (key, why, clears) = (key.to_owned(), why.into(), clears.into());
        Self { rule, key, why, clears, missed: None, opens_at: None, closed_at: None }
    }

    /// What the record keeps of it, where what it stops is recorded anyway.
    pub(in crate::day) fn stopped_by(self) -> StoppedBy {
        let Self { rule, key, why, .. } = self;
        StoppedBy { rule, key, why }
    }

    /// The refusal that says it.
    pub fn refusal(&self, what: String) -> Refusal {
        let refusal = Refusal::new(self.rule, what, self.why.clone(), self.clears.clone());
        Refusal { opens_at: self.opens_at, closed_at: self.closed_at, ..refusal }
    }
}
