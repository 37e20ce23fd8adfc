//! A sum is kept.

use super::context::{Context, DecideError, Decision, Request, each};
use crate::record::{Body, KeepPlan};

impl Request for KeepPlan {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        each(context.state, &self.subject, |subject| Body::PlanKept(Self { subject, ..self.clone() }))
    }
}
