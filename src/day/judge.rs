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
        let left = state.days.last().filter(|day| day.closed_at.is_none() && day.opened_at <= at);
        breaches.push(Breach::new(
            Rule::R12,
            "day",
            match left {
                Some(day) => format!("the day of {} was never closed", day.date.format("%a %-d %b")),
                None => "no site day is open then".to_owned(),
            },
            match left {
                Some(_) => "close it, with the time it ended: cladlog day close --at TIME; then open today's",
                None => "open the day first: cladlog day open --crew NAME… --talk TEXT",
            },
        ));
    }
    breaches.extend(holds::judge(state, step, subject, at));
    breaches.extend(windows::judge(state, step, subject, at));
    breaches.extend(order::judge(state, step, subject, together, complete));
    breaches.extend(conditions::judge(state, step, subject, at));
    breaches.extend(day.into_iter().flat_map(|day| cautions::judge(state, step, day, at)));
    breaches
}
