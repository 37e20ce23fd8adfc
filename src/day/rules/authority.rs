//! R10: who may do what, by their roles on the job.

use crate::day::state::State;
use crate::refusal::{Refusal, Rule};
use crate::sequence::Sequence;
use crate::units::number::shortened;

/// Insists that a person has one of these roles.
///
/// # Errors
/// [`Refusal`] naming the roles that would do.
pub(in crate::day) fn has_role(state: &State, person: &str, roles: &[String], what: &str) -> Result<(), Refusal> {
    if state.person(person).is_some_and(|person| person.has_any(roles)) {
        return Ok(());
    }
    let may = roles.join(" or ");
    let why = match state.person(person) {
        Some(on_job) => format!("{person} has the role {} on this job; it takes {may}", on_job.roles.join(", ")),
        None => format!("{person} is not on this job; it takes {may}"),
    };
    Err(Refusal::new(Rule::Authority, what, why, format!("ask somebody with the role {may} to do it")))
}

/// Insists that every role is one that the sequence knows.
///
/// # Errors
/// A message that lists the roles there are.
pub(in crate::day) fn roles_known<'r>(
    sequence: &Sequence,
    mut roles: impl Iterator<Item = &'r String>,
) -> Result<(), String> {
    match roles.find(|role| !sequence.roles.contains(role)) {
        None => Ok(()),
        Some(role) => Err(format!(
            "sequence {} has no role '{}': the roles are {}",
            sequence.key,
            shortened(role),
            sequence.roles.join(", ")
        )),
    }
}
