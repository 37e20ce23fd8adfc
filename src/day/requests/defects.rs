//! R8: a defect is reported, put right, conceded.

use super::context::{Context, DecideError, Decision, Request, each, input, require_text, spelled};
use crate::day::facts::{Defect, Done};
use crate::day::rules::{has_role, took_part};
use crate::day::state::State;
use crate::record::{Body, Cause, CloseDefect, ConcedeDefect, DefectId, OpenDefect};
use crate::refusal::{Clears, Refusal, Remedy, Rule};
use crate::sequence::Step;
use crate::units::number::shortened;

impl Request for OpenDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("what", &self.what)?;
        each(context.state, &self.subject, |subject| Body::DefectOpened(Self { subject, ..self.clone() }))
    }
}

impl Request for CloseDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("how", &self.how)?;
        let state = context.state;
        let person = spelled(state, &self.person)?;
        let defect = to_end(state, &self.defect, &person, "close", &state.sequence().authority.close)?;
        measured_only_by_measuring(state, defect)?;
        not_by_own_word(state, defect, &person)?;
        Ok(Body::DefectClosed(Self { person, ..self.clone() }).into())
    }
}

impl Request for ConcedeDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("why", &self.why)?;
        let state = context.state;
        let person = spelled(state, &self.person)?;
        to_end(state, &self.defect, &person, "concede", &state.sequence().authority.concede)?;
        Ok(Body::DefectConceded(Self { person, ..self.clone() }).into())
    }
}

/// An open defect that a person may end.
fn to_end<'s>(
    state: &'s State,
    id: &DefectId,
    person: &str,
    verb: &str,
    roles: &[String],
) -> Result<&'s Defect, DecideError> {
    let Some(defect) = state.defect(id) else {
        let id = shortened(&id.to_string());
        return input(format!("there is no defect '{id}': see cladlog defect list"));
    };
    let what = format!("{verb} defect {id}");
    if !defect.is_open() {
        let why = format!("it is already {}", defect.state.word());
        return Err(Refusal::new(Rule::Answer, what, why, "nothing to do").into());
    }
    has_role(state, person, roles, &what)?;
    Ok(defect)
}

/// A measurement out of tolerance is ended by measuring again or by a concession, not by a word.
fn measured_only_by_measuring(state: &State, defect: &Defect) -> Result<(), Refusal> {
    let Cause::Measured(_) = defect.id.cause else { return Ok(()) };
    // Unless the step itself is gone from the record: then there is nothing to measure again.
    let Some((step, _)) = done_of(state, defect) else { return Ok(()) };
    let (id, on) = (&defect.id, &defect.subject);
    let clears = Clears::from("put it right and measure again")
        .by(Remedy::Record { step: step.key.clone(), on: on.clone(), before: None })
        .typed(&format!("; or a concession: cladlog defect concede {id}"));
    Err(Refusal::new(Rule::Answer, format!("close defect {id}"), "it is a measurement out of tolerance", clears))
}

/// Work past a hold point, out of its time or out of the limits is not put right by the word of who did it (R10).
fn not_by_own_word(state: &State, defect: &Defect, person: &str) -> Result<(), Refusal> {
    let Cause::Rule(Rule::HoldPoint | Rule::Window | Rule::Condition, _) = defect.id.cause else { return Ok(()) };
    let Some((_, done)) = done_of(state, defect).filter(|(_, done)| took_part(state, done, person)) else {
        return Ok(());
    };
    let (id, roles) = (&defect.id, state.sequence().authority.close.join(" or "));
    let why = format!("{person} did that work, or was on the crew that did it, on {}", done.at.full());
    let clears = Clears::from(format!("ask somebody else with the role {roles} to close it; or give a concession"))
        .typed(&format!(": cladlog defect concede {id}"));
    Err(Refusal::new(Rule::Authority, format!("close defect {id}"), why, clears))
}

/// The step that opened a defect, as it was done.
fn done_of<'s>(state: &'s State, defect: &Defect) -> Option<(&'s Step, &'s Done)> {
    let subject = state.subjects.index(&defect.subject)?;
    state.sequence().steps.indexed().find_map(|(index, step)| {
        let done = state.done(index, subject).iter().find(|done| done.entry == *defect.opened_by())?;
        Some((step, done))
    })
}
