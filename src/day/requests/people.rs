//! A person comes onto the job.

use super::context::{Context, DecideError, Decision, Request, input};
use crate::day::rules::roles_known;
use crate::form::{check_person, is_same_name, looks_latin};
use crate::record::{AddPerson, Body};

impl Request for AddPerson {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let people = &context.book.state.job.people;
        if let Some(same) = people.iter().find(|person| is_same_name(&person.name, &self.name)) {
            return input(format!("{} is already on the job", same.name));
        }
        check_person(&self.name).map_err(|why| DecideError::Input(format!("the name {why}")))?;
        let seen = looks_latin(&self.name);
        if let Some(like) = people.iter().find(|person| {
            let theirs = looks_latin(&person.name);
            is_same_name(seen.as_ref().unwrap_or(&self.name), theirs.as_ref().unwrap_or(&person.name))
        }) {
            let name = &like.name;
            return input(format!(
                "'{}' looks like '{name}', who is on the job, in letters of another alphabet",
                self.name
            ));
        }
        if self.roles.is_empty() {
            return input("a person has at least one role: --role ROLE");
        }
        roles_known(context.state.sequence(), self.roles.iter()).map_err(DecideError::Input)?;
        Ok(Body::PersonAdded(self.clone()).into())
    }
}
