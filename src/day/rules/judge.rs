//! Whether a step may be done on a subject at a moment: every rule asked in turn.

use super::breach::Breach;
use super::{cautions, holds, limits, order, windows};
use crate::building::SubjectIx;
use crate::day::state::State;
use crate::moment::{Moment, day as day_words};
use crate::record::crew;
use crate::refusal::{Clears, Remedy, Rule};
use crate::sequence::StepIx;

/// A step on a subject, as somebody wants to do it or has done it.
pub(in crate::day) struct Attempt<'a> {
    /// Index of the step.
    pub step: StepIx,
    /// Index of the subject.
    pub subject: SubjectIx,
    /// When it was begun: as `at` where nothing is said of it.
    pub begun: Moment,
    /// When it was done.
    pub at: Moment,
    /// The device that records it: its own site day counts before another's.
    pub device: Option<&'a str>,
    /// The subjects of the same record: of a run of courses recorded at once, each lower one counts.
    pub together: &'a [SubjectIx],
}

/// Everything that stops a step on a subject at a moment, recorded by this file's device together with other subjects;
/// what weighs most first.
pub fn judge(state: &State, step: StepIx, subject: SubjectIx, at: Moment, together: &[SubjectIx]) -> Vec<Breach> {
    let attempt = Attempt { step, subject, begun: at, at, device: state.device(), together };
    judge_attempt(state, &attempt, &|step, subject| state.complete(step, subject, at))
}

/// Everything that stops an attempt, what weighs most first. `complete` says which steps are complete on what.
///
/// A hold point comes before the order of the work, since it stops the steps between as well.
pub(in crate::day) fn judge_attempt(
    state: &State,
    attempt: &Attempt<'_>,
    complete: &dyn Fn(StepIx, SubjectIx) -> bool,
) -> Vec<Breach> {
    let Attempt { step, subject, begun, at, device, together } = *attempt;
    let mut breaches = Vec::new();
    let day = state.day_at(device, at);
    if day.is_none() {
        breaches.push(no_day(state, device, at));
    }
    breaches.extend(holds::judge(state, step, subject, at));
    breaches.extend(windows::judge(state, step, subject, begun, at));
    breaches.extend(order::judge(state, step, subject, together, complete));
    breaches.extend(limits::judge(state, step, subject, at));
    breaches.extend(day.into_iter().flat_map(|day| cautions::judge(state, step, day, at)));
    breaches
}

/// R12: work is recorded in an open day.
fn no_day(state: &State, device: Option<&str>, at: Moment) -> Breach {
    let own = |day: &&crate::day::facts::Day| device.is_none_or(|device| crew(&day.device) == crew(device));
    let left = state.days.iter().rfind(own).filter(|day| day.closed_at.is_none() && day.opened_at <= at);
    let (why, clears) = match left {
        Some(day) => (
            format!("the day of {} was never closed", day_words(day.date, at.date())),
            Clears::from("close it, with the time it ended")
                .by(Remedy::CloseDay { earlier: true })
                .typed("; then open today's"),
        ),
        None => ("no site day is open at that time".to_owned(), Clears::from("open the day first").by(Remedy::OpenDay)),
    };
    Breach::new(Rule::OpenDay, "day", why, clears)
}
