//! R4: what comes before a step.

use super::breach::Breach;
use super::state::State;
use crate::refusal::Rule;

/// The steps that must be complete first, on the subject, on what it belongs to, and on its neighbours below.
pub(super) fn judge(
    state: &State,
    step: usize,
    subject: usize,
    together: &[usize],
    complete: &dyn Fn(usize, usize) -> bool,
) -> Option<Breach> {
    let sequence = state.sequence();
    let wanted = &sequence.steps[step];
    let mut missing: Vec<(usize, usize)> = Vec::new();
    for &before in &wanted.after {
        // Once the first step of a window has been done, its clock speaks (R6), not the order.
        let timed = sequence.windows.iter().any(|window| window.from == before && window.to == step);
        if timed && state.done(before, subject).last().is_some_and(|done| done.failing.is_empty()) {
            continue;
        }
        let related = state.subjects.related(subject, sequence.steps[before].on);
        missing.extend(
            related
                .iter()
                .copied()
                .filter(|other| state.asked_of(before, *other) && !complete(before, *other))
                .map(|other| (before, other)),
        );
    }
    if wanted.in_turn {
        missing.extend(
            lower_neighbour(state, step, subject)
                .filter(|lower| !together.contains(lower) && !complete(step, *lower))
                .map(|lower| (step, lower)),
        );
    }
    let (first, on) = *missing.first()?;
    let id = state.subjects.get(on).to_string();
    let first = &sequence.steps[first];
    let others: std::collections::BTreeSet<usize> =
        missing.iter().map(|(step, _)| *step).filter(|other| sequence.steps[*other].key != first.key).collect();
    let more = match others.len() {
        0 => String::new(),
        1 => " (and one more step)".to_owned(),
        n => format!(" (and {n} more steps)"),
    };
    let state_of_it = match state.done(sequence.step(&first.key).unwrap_or(step), on).last() {
        Some(done) if !done.failing.is_empty() => "is out of tolerance",
        Some(_) => "has to be done again",
        None => "is not done",
    };
    Some(Breach::new(
        Rule::R4,
        "order",
        format!("'{}' {state_of_it} on {id}{more}", first.title),
        format!("first: cladlog record {} --on {id}", first.key),
    ))
}

/// The next lower course or joint that the step is asked of.
fn lower_neighbour(state: &State, step: usize, subject: usize) -> Option<usize> {
    let number = state.subjects.get(subject).number()?;
    let stem = state.subjects.get(subject).to_string();
    let stem = stem.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    (1..number)
        .rev()
        .filter_map(|lower| state.subjects.index(&format!("{stem}{lower}")))
        .find(|lower| state.asked_of(step, *lower))
}
