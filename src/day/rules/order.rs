//! R4: what comes before a step.

use std::collections::BTreeSet;

use super::breach::Breach;
use crate::building::{SubjectIx, SubjectKind, on_words};
use crate::day::state::State;
use crate::refusal::{Clears, Remedy, Rule};
use crate::sequence::StepIx;

/// The steps that must be complete first, on the subject, on what it belongs to, and on its neighbours below.
pub(super) fn judge(
    state: &State,
    step: StepIx,
    subject: SubjectIx,
    together: &[SubjectIx],
    complete: &dyn Fn(StepIx, SubjectIx) -> bool,
) -> Option<Breach> {
    let sequence = state.sequence();
    let wanted = &sequence.steps[step];
    let mut missing: Vec<(StepIx, SubjectIx)> = Vec::new();
    let over_head = if wanted.up_to_head { state.course_over_head(subject) } else { None };
    let is_over_head = |other: SubjectIx| {
        let is = state.subjects.get(other);
        is.kind() == SubjectKind::Course && over_head.zip(is.number()).is_some_and(|(last, number)| number > last)
    };
    for &before in &wanted.after {
        // A step that a window runs from, done and not undone by a step before it: from then on the window (R6) says
        // whether it still counts.
        let timed = sequence.windows.iter().any(|window| window.from == before && window.to == step);
        if timed && state.is_done_in_turn(before, subject) {
            continue;
        }
        let open = state
            .related_of(before, subject)
            .filter(|other| !is_over_head(*other) && state.asked_of(before, *other) && !complete(before, *other));
        missing.extend(open.map(|other| (before, other)));
    }
    for gate in sequence.steps.indexes().filter(|gate| sequence.steps[*gate].gates.contains(&step)) {
        let lower = state.subjects.lower(subject);
        let open = lower.filter(|lower| state.asked_of(gate, *lower) && !complete(gate, *lower));
        missing.extend(open.map(|lower| (gate, lower)));
    }
    if wanted.in_turn {
        let lower = state.subjects.lower(subject).find(|lower| state.asked_of(step, *lower));
        missing
            .extend(lower.filter(|lower| !together.contains(lower) && !complete(step, *lower)).map(|low| (step, low)));
    }
    let (first, on) = *missing.first()?;
    let others: BTreeSet<StepIx> = missing.iter().map(|(step, _)| *step).filter(|other| *other != first).collect();
    let more = match others.len() {
        0 => String::new(),
        1 => " (and one more step)".to_owned(),
        n => format!(" (and {n} more steps)"),
    };
    let state_of_it = match state.done(first, on).last() {
        Some(done) if done.is_out_of_tolerance() => "is out of tolerance",
        Some(_) if sequence.steps[first].daily => "was not done today",
        Some(_) => "has to be done again",
        None => "is not done",
    };
    let (first, on) = (&sequence.steps[first], state.subjects.get(on).to_string());
    let why = format!("'{}' {state_of_it}{}{more}", first.title, on_words(&on));
    let clears = Clears::from("first").by(Remedy::Record { step: first.key.clone(), on, before: None });
    Some(Breach::new(Rule::Order, "order", why, clears))
}
