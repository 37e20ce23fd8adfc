//! A job is set up.

use super::context::DecideError;
use crate::building::Job;
use crate::day::rules::roles_known;
use crate::record::SetUpJob;
use crate::sequence::Sequence;

/// What sets a job up, once its people's roles fit the sequence.
///
/// # Errors
/// [`DecideError::Input`] for a role that the sequence does not know.
pub fn set_up(job: Job, sequence: &Sequence) -> Result<SetUpJob, DecideError> {
    roles_known(sequence, job.people.iter().flat_map(|person| &person.roles)).map_err(DecideError::Input)?;
    Ok(SetUpJob { building: Box::new(job), sequence: sequence.text.clone() })
}
