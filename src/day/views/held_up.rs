//! What holds work up: on each wall the earliest thing in the sequence that is not done, and who has to act.

use super::next::{Action, Urgency};
use super::tasks::is_at;
use super::words::on_words;
use crate::building::{Subject, SubjectIx};
use crate::day::facts::HoldStatus;
use crate::day::rules::{may_release, release_waits_for};
use crate::day::state::State;
use crate::moment::Moment;
use crate::plain::listed_or;
use crate::refusal::{Clears, Rule};
use crate::sequence::{HoldIx, StepIx};

/// What holds some walls up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldUp {
    /// The walls.
    pub walls: Vec<SubjectIx>,
    /// What it is: "Frame before the wrap goes on: release requested 08:20, not given yet".
    pub why: String,
    /// What clears it, and who does that, where it is not for the lead to go back to it.
    pub to_do: Option<String>,
}

/// What holds these walls up: first what a window closes on, then in the order of the sequence; `actions` are those of `next`. Walls that wait for the same are
/// named together, and what is stopped waits for nothing else.
pub fn held_up(state: &State, actions: &[Action], walls: &[SubjectIx], now: Moment) -> Vec<HeldUp> {
    let mut found: Vec<((bool, StepIx), HeldUp)> = Vec::new();
    for &wall in walls {
        let here = || actions.iter().filter(|action| action.stopped.is_none() && is_at(state, action.subject, wall));
        let first = here().min_by_key(|action| action.step);
        // A window runs on also over what was left for later, or waits for a reading.
        let closing = here().filter(|action| action.urgency == Urgency::Closing);
        for action in first.into_iter().chain(closing) {
            // What waits for nothing but time is not held up.
            if action.rule == Some(Rule::Window) && action.opens_at.is_some() {
                continue;
            }
            let (why, to_do) = words(state, action, wall, now);
            match found.iter_mut().find(|(_, it)| it.why == why && it.to_do == to_do) {
                Some((_, it)) if it.walls.contains(&wall) => {}
                Some((_, it)) => it.walls.push(wall),
                None => {
                    let place = (action.urgency != Urgency::Closing, action.step);
                    found.push((place, HeldUp { walls: vec![wall], why, to_do }));
                }
            }
        }
    }
    found.sort_by_key(|(place, _)| *place);
    found.into_iter().map(|(_, it)| it).collect()
}

fn words(state: &State, action: &Action, wall: SubjectIx, now: Moment) -> (String, Option<String>) {
    let on = match state.subjects.get(action.subject) {
        Subject::Wall(_) => String::new(),
        _ => on_words(&state.subjects, &[action.subject]),
    };
    let title = format!("{}{on}", state.sequence().steps[action.step].title);
    match (action.rule, action.key.as_deref().and_then(|key| state.sequence().hold(key))) {
        (None, _) if matches!(action.urgency, Urgency::Again | Urgency::Closing) => {
            (format!("{title}: {}", action.why), None)
        }
        // It could be done: the lead skipped it, or the seal plan has it later.
        (None, _) => (format!("{title}: left for later"), None),
        (Some(Rule::HoldPoint), Some(hold)) => {
            let per = state.sequence().holds[hold].per;
            let places = state.hold_subjects(per, action.subject);
            let due = |place: &&SubjectIx| {
                !state.is_released(hold, **place) && release_waits_for(state, hold, **place, now).is_empty()
            };
            // Of a corner the wall in question comes first.
            let place = places.iter().filter(due).min_by_key(|place| **place != wall);
            match place {
                Some(place) => waits_for_release(state, hold, *place, now),
                None => (format!("{title}: {}", action.why), action.clears.as_ref().map(Clears::to_string)),
            }
        }
        _ => {
            let closes = action.closes_at.map(|at| format!("; its window closes at {}", at.clock(now.date())));
            (
                format!("{title}: {}{}", action.why, closes.unwrap_or_default()),
                action.clears.as_ref().map(Clears::to_string),
            )
        }
    }
}

/// A hold point that can be released: where that stands, and who may do it.
fn waits_for_release(state: &State, hold: HoldIx, place: SubjectIx, now: Moment) -> (String, Option<String>) {
    let status = state.hold(hold, place);
    let people = state.job.people.iter().map(|person| person.name.as_str());
    let may: Vec<&str> = people.filter(|name| may_release(state, hold, place, name, now).is_ok()).collect();
    let who = match may.as_slice() {
        [] => format!("somebody with the role {} who did not do the work", status.roles.join(" or ")),
        may => listed_or(may),
    };
    let asked = status.asked_at.map(|asked| asked.clock(now.date()));
    let (why, to_do) = match (&status.person, status.at) {
        (Some(person), Some(at)) if status.is_refused() => {
            let why = status.how.as_deref().unwrap_or("no reason given");
            let put_right = match is_put_right(state, &status) {
                true => "it was put right: call",
                false => "put it right, then call",
            };
            (format!("refused by {person} at {}: {why}", at.clock(now.date())), format!("{put_right} {who}"))
        }
        _ => match asked {
            Some(asked) => (format!("release requested {asked}, not given yet"), format!("call {who}")),
            None => ("release not requested yet".to_owned(), format!("ask {who}")),
        },
    };
    (format!("{}: {why}", status.title), Some(to_do))
}

/// Whether no defect that a refusal opened is open any longer.
fn is_put_right(state: &State, status: &HoldStatus) -> bool {
    !status.refusals.iter().filter_map(|id| state.defect(id)).any(|defect| defect.is_open())
}
