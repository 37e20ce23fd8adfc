//! A remark on a subject.

use super::context::{Context, DecideError, Decision, Request, each, require_text};
use crate::record::{AddNote, Body};

impl Request for AddNote {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("text", &self.text)?;
        each(context.state, &self.subject, |subject| Body::Noted(Self { subject, text: self.text.clone() }))
    }
}
