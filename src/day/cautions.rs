//! R9: cautions, acknowledged by each person on site once a day.

use super::breach::Breach;
use super::state::State;
use crate::moment::Moment;
use crate::plain::quoted;
use crate::refusal::Rule;

/// The cautions of a step that somebody on site has not acknowledged on that day.
pub(super) fn judge(state: &State, step: usize, day: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let mut breaches = Vec::new();
    for &caution in &sequence.steps[step].cautions {
        let caution = &sequence.cautions[caution];
        let missing = missing(state, &caution.key, day, at);
        if !missing.is_empty() {
            let names: Vec<String> = missing.iter().map(|name| quoted(name)).collect();
            breaches.push(Breach::new(
                Rule::R9,
                &caution.key,
                format!("caution {} ({}) not acknowledged today by {}", caution.key, caution.title, missing.join(", ")),
                format!("cladlog caution acknowledge {} --person {}", caution.key, names.join(" ")),
            ));
        }
    }
    breaches
}

/// A refusal by the first of several cautions tells the others with it, so that all are acknowledged in one round.
pub(super) fn with_others(mut first: Breach, others: impl Iterator<Item = Breach>) -> Breach {
    let keys: Vec<String> = others.filter(|other| other.rule == Rule::R9).map(|other| other.key).collect();
    if first.rule == Rule::R9 && !keys.is_empty() {
        first.why.push_str(&format!("; nor {}", keys.join(", ")));
        first.clears.push_str(&format!("; then the same for {}", keys.join(", ")));
    }
    first
}

/// Who of the crew has not acknowledged a caution on a day.
pub(super) fn missing<'s>(state: &'s State, caution: &str, day: usize, at: Moment) -> Vec<&'s str> {
    let day = &state.days[day];
    let acknowledged = day.acknowledged.get(caution);
    day.crew_at(at).filter(|name| acknowledged.and_then(|by| by.get(*name)).is_none_or(|when| *when > at)).collect()
}
