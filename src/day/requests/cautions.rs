//! R9: people acknowledge a caution.

use super::context::{Context, DecideError, Decision, Request, all_spelled, day_then, input};
use super::days::not_on_site;
use crate::plain::quoted;
use crate::record::{AcknowledgeCaution, Body};
use crate::refusal::{Clears, Refusal, Rule};
use crate::units::number::shortened;

impl Request for AcknowledgeCaution {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let (state, caution) = (context.state, &self.caution);
        let sequence = state.sequence();
        if sequence.caution(caution).is_none() {
            let keys: Vec<&str> = sequence.cautions.iter().map(|caution| caution.key.as_str()).collect();
            return input(format!("there is no caution '{}': they are {}", shortened(caution), keys.join(", ")));
        }
        let people = all_spelled(state, &self.people)?;
        let day = day_then(state, context.at, "acknowledge a caution")?;
        if let Some(absent) = people.iter().find(|name| !day.is_on_site(name, context.at)) {
            let (what, why) =
                (format!("acknowledge caution {caution} for {absent}"), not_on_site(day, absent, context.at));
            let clears = Clears::from(format!("if {absent} is on site, record that {absent} came"))
                .typed(&format!(": cladlog day join --crew {}", quoted(absent)));
            return Err(Refusal::new(Rule::OpenDay, what, why, clears).into());
        }
        Ok(Body::CautionAcknowledged(Self { caution: caution.clone(), people }).into())
    }
}
