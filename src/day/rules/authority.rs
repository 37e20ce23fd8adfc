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
    let has = state.person(person).map(|person| person.roles.join(", ")).unwrap_or_default();
    Err(Refusal::new(
        Rule::R10,
        what,
        format!("{person} is {has} on this job; it takes {}", roles.join(" or ")),
        format!("somebody with the role {} does it", roles.join(" or ")),
    ))
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
