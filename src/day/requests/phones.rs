//! Phones are paired and forgotten.

use super::context::{Context, DecideError, Decision, Request, input, spelled};
use crate::record::{Body, ForgetPhone, PairPhone};

impl Request for PairPhone {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let person = spelled(context.state, &self.person)?;
        // Nobody pairs a phone for somebody else.
        if person != context.by {
            return input(format!("{} can't pair a phone for {person}", context.by));
        }
        Ok(Body::PhonePaired(Self { person, ..self.clone() }).into())
    }
}

impl Request for ForgetPhone {
    fn decide(&self, _: &Context<'_>) -> Result<Decision, DecideError> {
        Ok(Body::PhoneForgotten(self.clone()).into())
    }
}
