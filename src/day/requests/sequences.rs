//! R13: a newer sequence is adopted.

use std::sync::Arc;

use super::context::{Context, DecideError, Decision, Request, require_text};
use crate::day::rules::{has_role, roles_known};
use crate::record::{AdoptSequence, Body};
use crate::refusal::{Refusal, Rule};
use crate::sequence::{self, Sequence};

impl Request for AdoptSequence {
    /// An edition is in force from when it is recorded, whenever it was agreed: what happened before is not judged by
    /// it.
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("why", &self.why)?;
        let state = &context.book.state;
        let what = "adopt this sequence";
        has_role(state, context.by, &state.sequence().authority.adopt, what)?;
        let adopted = sequence::read(&self.sequence).map_err(|mistakes| {
            DecideError::Input(mistakes.iter().map(|m| m.in_file("sequence")).collect::<Vec<_>>().join("\n"))
        })?;
        if adopted.sha256 == state.sequence().sha256 {
            let why = "the job already holds exactly this text";
            return Err(Refusal::new(Rule::Pinned, what, why, "nothing to do").into());
        }
        let named_alike = |one: &&Arc<Sequence>| (&one.key, &one.edition) == (&adopted.key, &adopted.edition);
        if state.editions.iter().any(|one| named_alike(&one) && one.sha256 != adopted.sha256)
            || adopted.edited().is_some()
        {
            let (key, edition) = (&adopted.key, &adopted.edition);
            let why = format!("there is another text already that calls itself {key}, edition {edition}");
            let clears = "give it an edition of its own, in the line 'edition' of the file";
            return Err(Refusal::new(Rule::Pinned, "adopt this sequence", why, clears).into());
        }
        let roles = state.job.people.iter().flat_map(|person| &person.roles);
        roles_known(&adopted, roles).map_err(DecideError::Input)?;
        Ok(Body::SequenceAdopted(self.clone()).into())
    }
}
