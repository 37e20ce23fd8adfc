//! A person confirms what was typed in their name.

use super::context::{Context, DecideError, Decision, Request, input, require_text};
use crate::form::is_same_name;
use crate::record::{Body, ConfirmSaying, Confirmed};

impl Request for ConfirmSaying {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        if let Confirmed::Reply(text) = &self.how {
            require_text("--text", text)?;
        }
        let said = context.book.entry(&self.entry).filter(|entry| !context.book.state.is_struck(entry));
        let Some(said) = said else {
            return input(format!("there is no entry {}, or it was struck: see cladlog confirm list", self.entry));
        };
        let Some(person) = said.body.in_the_name_of() else {
            let what = "is not a release, a refusal, a closing or a concession: see cladlog confirm list";
            return input(format!("entry {} {what}", self.entry));
        };
        if is_same_name(person, &said.by) {
            return input(format!("{person} recorded entry {} themselves: there is nothing to confirm", self.entry));
        }
        Ok(Body::SayingConfirmed(self.clone()).into())
    }
}
