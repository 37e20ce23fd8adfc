//! Whether a step may be done on a subject at a moment: every rule asked in turn.

use super::state::State;
use super::{cautions, conditions, holds, order, windows};
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
        Refusal {
            rule: self.rule,
            what,
            why: self.why.clone(),
            clears: self.clears.clone(),
            opens_at: self.opens_at,
            closed_at: self.closed_at,
        }
    }
}

/// Everything that stops a step on a subject at a moment; what weighs most first.
///
/// `together` are the subjects of the same request: of a run of courses recorded at once, each lower one counts.
/// A hold point comes before the order of the work, since it stops the steps between as well.
pub fn judge(state: &State, step: usize, subject: usize, at: Moment, together: &[usize]) -> Vec<Breach> {
    judge_with(state, step, subject, at, together, &|step, subject| state.complete(step, subject, at))
}

pub(super) fn judge_with(
    state: &State,
    step: usize,
    subject: usize,
    at: Moment,
    together: &[usize],
    complete: &dyn Fn(usize, usize) -> bool,
) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let day = state.day_at(at);
    if day.is_none() {
        breaches.push(Breach::new(
            Rule::R12,
            "day",
            "no site day is open then",
            "open the day first: cladlog day open --crew NAME… --talk TEXT",
        ));
    }
    breaches.extend(holds::judge(state, step, subject, at));
    breaches.extend(windows::judge(state, step, subject, at));
    breaches.extend(order::judge(state, step, subject, together, complete));
    breaches.extend(conditions::judge(state, step, subject, at));
    breaches.extend(day.into_iter().flat_map(|day| cautions::judge(state, step, day, at)));
    breaches
}
