//! R9: cautions, acknowledged by each person on site once a day.

use super::breach::Breach;
use crate::day::state::State;
use crate::moment::Moment;
use crate::refusal::{Remedy, Rule};
use crate::sequence::StepIx;

/// The cautions of a step that somebody on site has not acknowledged on that day.
pub(super) fn judge(state: &State, step: StepIx, day: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let mut breaches = Vec::new();
    for &caution in &sequence.steps[step].cautions {
        let caution = &sequence.cautions[caution];
        let day = &state.days[day];
        let has_not = |name: &&str| !state.has_acknowledged(&caution.key, name, day.date, at);
        let missing: Vec<&str> = day.crew_at(at).filter(has_not).collect();
        if !missing.is_empty() {
            let names = missing.join(", ");
            let why = format!("caution {} ({}) not acknowledged today by {names}", caution.key, caution.title);
            let people = missing.into_iter().map(str::to_owned).collect();
            let remedy = Remedy::Acknowledge { caution: caution.key.clone(), people };
            breaches.push(Breach::new(Rule::Caution, &caution.key, why, remedy));
        }
    }
    breaches
}

/// A refusal by the first of several cautions names the others too, so that all are acknowledged in one round.
pub(in crate::day) fn with_others(mut first: Breach, others: impl Iterator<Item = Breach>) -> Breach {
    let keys: Vec<String> = others.filter(|other| other.rule == Rule::Caution).map(|other| other.key).collect();
    if first.rule == Rule::Caution && !keys.is_empty() {
        first.why.push_str(&format!("; nor {}", keys.join(", ")));
        first.clears = first.clears.typed(&format!("; then the same for {}", keys.join(", ")));
    }
    first
}
