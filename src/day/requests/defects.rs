//! R8: a defect is reported, put right, conceded.

use super::context::{Context, DecideError, Decision, Request, each, input, known, require_text};
use crate::day::facts::Defect;
use crate::day::rules::has_role;
use crate::day::state::State;
use crate::record::{Body, Cause, CloseDefect, ConcedeDefect, DefectId, OpenDefect};
use crate::refusal::{Refusal, Rule};
use crate::units::number::shortened;

impl Request for OpenDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("--what", &self.what)?;
        each(context.state, &self.subject, |subject| Body::DefectOpened(Self { subject, ..self.clone() }))
    }
}

impl Request for CloseDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("--how", &self.how)?;
        let state = context.state;
        let defect = to_end(state, &self.defect, &self.person, "close", &state.sequence().authority.close)?;
        measured_only_by_measuring(state, defect)?;
        Ok(Body::DefectClosed(self.clone()).into())
    }
}

impl Request for ConcedeDefect {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("--why", &self.why)?;
        let state = context.state;
        to_end(state, &self.defect, &self.person, "concede", &state.sequence().authority.concede)?;
        Ok(Body::DefectConceded(self.clone()).into())
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
    known(state, person)?;
    let Some(defect) = state.defect(id) else {
        let id = shortened(&id.to_string());
        return input(format!("there is no defect '{id}': see cladlog defect list"));
    };
    let what = format!("{verb} defect {id}");
    if !defect.is_open() {
        let why = format!("it is already {}", defect.state.word());
        return Err(Refusal::new(Rule::R8, what, why, "nothing to do").into());
    }
    has_role(state, person, roles, &what)?;
    Ok(defect)
}

/// A measurement out of tolerance is ended by measuring again or by a concession, not by a word.
fn measured_only_by_measuring(state: &State, defect: &Defect) -> Result<(), Refusal> {
    let Cause::Measured(_) = defect.id.cause else { return Ok(()) };
    let Some(subject) = state.subjects.index(&defect.subject) else { return Ok(()) };
    // Unless the step itself is gone from the record: then there is nothing to measure again.
    let mut steps = state.sequence().steps.iter().enumerate();
    let measured =
        steps.find(|(step, _)| state.done(*step, subject).iter().any(|done| done.entry == *defect.opened_by()));
    let Some((_, step)) = measured else { return Ok(()) };
    let (id, on) = (&defect.id, &defect.subject);
    let measure = format!("put it right and measure again: cladlog record {} --on {on}", step.key);
    Err(Refusal::new(
        Rule::R8,
        format!("close defect {id}"),
        "it is a measurement out of tolerance",
        format!("{measure}; or a concession: cladlog defect concede {id}"),
    ))
}
