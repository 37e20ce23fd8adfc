//! A person confirms what was typed in their name.

use super::context::{Context, DecideError, Decision, Request, input, require_text};
use crate::record::{Body, ConfirmSaying, Confirmed};

impl Request for ConfirmSaying {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        if let Confirmed::Reply(text) = &self.how {
            require_text("text", text)?;
        }
        let said = context.book.entry(&self.entry).filter(|entry| !context.book.state.is_struck(entry));
        let Some(said) = said else {
            return input(format!("there is no entry {}, or it was struck: see cladlog confirm list", self.entry));
        };
        if said.body.in_the_name_of().is_none() {
            let what = "is not a release, a refusal, a closing or a concession: see cladlog confirm list";
            return input(format!("entry {} {what}", self.entry));
        }
        Ok(Body::SayingConfirmed(self.clone()).into())
    }
}
