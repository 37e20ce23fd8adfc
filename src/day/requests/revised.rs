//! The building of a running job changes.

use std::collections::BTreeSet;

use super::context::{Context, DecideError, Decision, Request, input, require_text};
use crate::building::changes;
use crate::day::rules::roles_known;
use crate::record::{Body, ReviseJob};
use crate::refusal::{Clears, Refusal, Rule};

impl Request for ReviseJob {
    /// In force from when it is recorded, whenever it was agreed, like an edition of the sequence.
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("why", &self.why)?;
        let (state, new) = (&context.book.state, &self.building);
        let job = &state.job;
        if (&new.key, new.time_zone) != (&job.key, job.time_zone) {
            let (key, zone) = (&job.key, job.time_zone);
            return input(format!("this is job {key} in {zone}, and a revised job keeps its key and time zone"));
        }
        let changes = changes(job, new);
        if changes.is_empty() {
            return input("the file says what the job says already: nothing to revise");
        }
        roles_known(state.sequence(), new.people.iter().flat_map(|person| &person.roles))
            .map_err(DecideError::Input)?;
        let entries = context.book.entries.iter();
        let named: BTreeSet<&str> =
            entries.flat_map(|entry| entry.body.names().into_iter().chain([&*entry.by])).collect();
        let left_out = |name: &&str| job.person(name).is_some() && new.person(name).is_none();
        let left_out: Vec<&str> = named.into_iter().filter(left_out).collect();
        if !left_out.is_empty() {
            return input(format!("the record names {}: keep each as a [[person]] in the file", left_out.join(", ")));
        }
        let orphaned = state.orphaned_by(new);
        if !orphaned.is_empty() && !self.anyway {
            let why = format!("the revised job no longer has what work is recorded on: {}", orphaned.join("; "));
            let clears =
                Clears::from("keep these in the file, or record it anyway: it becomes a defect").typed(" (--anyway)");
            return Err(Refusal::new(Rule::Strike, "revise the job", why, clears).into());
        }
        Ok(Body::JobRevised(Self { changes, anyway: !orphaned.is_empty(), ..self.clone() }).into())
    }
}
