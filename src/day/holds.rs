//! R5: hold points.

use super::breach::Breach;
use super::state::{HoldState, State};
use crate::moment::Moment;
use crate::refusal::{Refusal, Rule};

/// The hold points that stop a step.
pub(super) fn judge(state: &State, step: usize, subject: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let mut breaches = Vec::new();
    for (index, hold) in sequence.holds.iter().enumerate() {
        if !hold.holds.contains(&step) {
            continue;
        }
        let released = |on: &usize| state.holds.get(&(index, *on)).is_some_and(|l| l.state == HoldState::Released);
        let Some(on) = state.hold_subjects(hold.per, subject).into_iter().find(|on| !released(on)) else { continue };
        let life = state.hold(index, on);
        let id = state.subjects.get(on).to_string();
        let who = hold.roles.join(" or ");
        let why = match life.state {
            HoldState::Refused => format!(
                "hold point {} ({}) was refused on {id} by {} at {}",
                hold.key,
                hold.title,
                life.person.as_deref().unwrap_or("somebody"),
                life.at.map_or_else(String::new, |when| when.clock(at.date())),
            ),
            _ => format!("hold point {} ({}) is not released on {id}; {who} may release it", hold.key, hold.title),
        };
        let clears = format!("{who} releases it: cladlog hold release {} --on {id} --person NAME --how …", hold.key);
        breaches.push(Breach::new(Rule::R5, &hold.key, why, clears));
    }
    breaches
}

/// Whether `person` may release a hold point on a subject now.
///
/// # Errors
/// [`Refusal`]: released already, the wrong role (R10), the person did the work, the work is not complete (R5).
pub fn may_release(state: &State, hold: usize, subject: usize, person: &str, at: Moment) -> Result<(), Refusal> {
    let found = &state.sequence().holds[hold];
    let id = state.subjects.get(subject).to_string();
    let what = format!("release hold point {} on {id}", found.key);
    let life = state.hold(hold, subject);
    if life.state == HoldState::Released {
        let who = life.person.as_deref().unwrap_or("somebody");
        return Err(Refusal::new(Rule::R5, what, format!("{who} has released it already"), "nothing: go on"));
    }
    has_role(state, person, &found.roles, &what)?;
    let waiting = release_waits_for(state, hold, subject, at);
    if let Some((step, on)) = waiting.first() {
        let (step, on) = (&state.sequence().steps[*step], state.subjects.get(*on));
        let more = if waiting.len() > 1 { format!(" (and {} more)", waiting.len() - 1) } else { String::new() };
        return Err(Refusal::new(
            Rule::R5,
            what,
            format!("what it covers is not complete: '{}' on {on}{more}", step.title),
            format!("first: cladlog record {} --on {on}", step.key),
        ));
    }
    if did_the_work(state, hold, subject, person) {
        return Err(Refusal::new(
            Rule::R5,
            what,
            format!("{person} did the work that it covers"),
            format!("somebody else with the role {} releases it", found.roles.join(" or ")),
        ));
    }
    Ok(())
}

/// The work that a hold point covers and that is not complete yet: step and subject.
pub fn release_waits_for(state: &State, hold: usize, subject: usize, at: Moment) -> Vec<(usize, usize)> {
    covered_by(state, hold, subject)
        .into_iter()
        .filter(|(step, on)| state.asked_of(*step, *on) && !state.complete(*step, *on, at))
        .collect()
}

/// Insists that a person has one of these roles (R10).
///
/// # Errors
/// [`Refusal`] naming the roles that would do.
pub(super) fn has_role(state: &State, person: &str, roles: &[String], what: &str) -> Result<(), Refusal> {
    let has = state.person(person).map(|person| person.roles.join(", ")).unwrap_or_default();
    if state.person(person).is_some_and(|person| person.has_any(roles)) {
        return Ok(());
    }
    Err(Refusal::new(
        Rule::R10,
        what,
        format!("{person} is {has} on this job; it takes {}", roles.join(" or ")),
        format!("somebody with the role {} does it", roles.join(" or ")),
    ))
}

/// The steps and subjects that a hold point covers on one of its subjects.
pub(super) fn covered_by(state: &State, hold: usize, subject: usize) -> Vec<(usize, usize)> {
    let sequence = state.sequence();
    let mut covered = Vec::new();
    for &step in &sequence.holds[hold].after {
        covered.extend(state.subjects.related(subject, sequence.steps[step].on).iter().map(|on| (step, *on)));
    }
    covered
}

/// Whether a person recorded the work that a hold point covers, or was on the crew when it was done.
fn did_the_work(state: &State, hold: usize, subject: usize, person: &str) -> bool {
    covered_by(state, hold, subject).into_iter().any(|(step, on)| {
        state.done(step, on).iter().any(|done| {
            let crew = done.day.and_then(|day| state.days.get(day));
            done.by == person || crew.is_some_and(|day| day.crew_at(done.at).any(|name| name == person))
        })
    })
}
