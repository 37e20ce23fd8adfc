//! Whether a step may be done on a subject at a moment: every rule asked in turn.

use super::breach::Breach;
use super::state::State;
use super::{cautions, conditions, holds, order, windows};
use crate::moment::Moment;
use crate::refusal::Rule;

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
