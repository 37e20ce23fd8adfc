//! R5: hold points.

use super::authority::has_role;
use super::breach::Breach;
use crate::building::{SubjectIx, on_words};
use crate::day::facts::{Day, Done, HoldState};
use crate::day::state::State;
use crate::form::is_same_name;
use crate::moment::Moment;
use crate::refusal::{Clears, Refusal, Remedy, Rule};
use crate::sequence::{HoldIx, StepIx};

/// The hold points that stop a step.
pub(super) fn judge(state: &State, step: StepIx, subject: SubjectIx, at: Moment) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for (index, hold) in state.sequence().holds.indexed().filter(|(_, hold)| hold.holds.contains(&step)) {
        let places = state.hold_subjects(hold.per, subject);
        let Some(on) = places.iter().find(|on| !state.is_released(index, **on)) else { continue };
        let status = state.hold(index, *on);
        let (id, who) = (&status.subject, hold.roles.join(" or "));
        let on = on_words(id);
        let why = match status.state {
            HoldState::Refused => format!(
                "hold point {} ({}) was refused{on} by {} at {}: {}",
                hold.key,
                hold.title,
                status.person.as_deref().unwrap_or("somebody"),
                status.at.map_or_else(String::new, |when| when.clock(at.date())),
                status.how.as_deref().unwrap_or("no reason given"),
            ),
            HoldState::Held if status.redone.is_some() => {
                let (step, when) = status.redone.as_ref().map_or(("", at), |(step, when)| (step, *when));
                format!(
                    "hold point {} ({}) was released{on} by {} at {}, but '{step}' was done again at {}",
                    hold.key,
                    hold.title,
                    status.person.as_deref().unwrap_or("somebody"),
                    status.at.map_or_else(String::new, |when| when.clock(at.date())),
                    when.clock(at.date()),
                )
            }
            _ => format!("hold point {} ({}) is not released{on}; {who} may release it", hold.key, hold.title),
        };
        let remedy = Remedy::Release { hold: hold.key.clone(), on: id.clone() };
        let clears = Clears::from(format!("{who} releases it")).by(remedy);
        breaches.push(Breach::new(Rule::HoldPoint, &hold.key, why, clears));
    }
    breaches
}

/// Whether `person` may release a hold point on a subject now.
///
/// # Errors
/// [`Refusal`]: released already, the wrong role (R10), the person did the work, the work is not complete (R5).
pub fn may_release(state: &State, hold: HoldIx, subject: SubjectIx, person: &str, at: Moment) -> Result<(), Refusal> {
    let found = &state.sequence().holds[hold];
    let what = format!("release hold point {}{}", found.key, on_words(&state.subjects.get(subject).to_string()));
    if state.is_released(hold, subject) {
        let who = state.hold(hold, subject).person.unwrap_or_default();
        return Err(Refusal::new(Rule::HoldPoint, what, format!("{who} has already released it"), "nothing to do"));
    }
    has_role(state, person, &found.roles, &what)?;
    let waiting = release_waits_for(state, hold, subject, at);
    if let Some((step, on)) = waiting.first() {
        let (step, on) = (&state.sequence().steps[*step], state.subjects.get(*on).to_string());
        let more = if waiting.len() > 1 { format!(" (and {} more)", waiting.len() - 1) } else { String::new() };
        let why = format!("what it covers is not complete: '{}'{}{more}", step.title, on_words(&on));
        let clears = Clears::from("first").by(Remedy::Record { step: step.key.clone(), on, before: None });
        return Err(Refusal::new(Rule::HoldPoint, what, why, clears));
    }
    if did_the_work(state, hold, subject, person) {
        return Err(Refusal::new(
            Rule::HoldPoint,
            what,
            format!("{person} did the work that it covers"),
            format!("ask somebody else with the role {} to release it", found.roles.join(" or ")),
        ));
    }
    Ok(())
}

/// The work that a hold point covers and that is not complete yet: step and subject.
pub fn release_waits_for(state: &State, hold: HoldIx, subject: SubjectIx, at: Moment) -> Vec<(StepIx, SubjectIx)> {
    covered_by(state, hold, subject)
        .filter(|(step, on)| state.asked_of(*step, *on) && !state.complete(*step, *on, at))
        .collect()
}

/// The steps and subjects that a hold point covers on one of its subjects.
pub(in crate::day) fn covered_by(
    state: &State,
    hold: HoldIx,
    subject: SubjectIx,
) -> impl Iterator<Item = (StepIx, SubjectIx)> + '_ {
    state.sequence().holds[hold]
        .after
        .iter()
        .flat_map(move |step| state.related_of(*step, subject).map(move |on| (*step, on)))
}

/// Whether a person recorded the work that a hold point covers, or was on the crew when it was done.
fn did_the_work(state: &State, hold: HoldIx, subject: SubjectIx, person: &str) -> bool {
    covered_by(state, hold, subject)
        .flat_map(|(step, on)| state.done(step, on))
        .any(|done| took_part(state, done, person))
}

/// Whether a person recorded a step, or was on the crew when it was done and puts up cladding.
pub(in crate::day) fn took_part(state: &State, done: &Done, person: &str) -> bool {
    let crew = done.day.and_then(|day| state.days.get(day));
    let on_crew = |day: &Day| day.crew_at(done.at).any(|name| is_same_name(name, person));
    is_same_name(&done.by, person) || (state.installs(person) && crew.is_some_and(on_crew))
}
