//! R9: cautions, acknowledged by each person on site once a day.

use super::breach::Breach;
use super::state::State;
use crate::moment::Moment;
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

/// Who of the crew has not acknowledged a caution on a day.
pub(super) fn missing<'s>(state: &'s State, caution: &str, day: usize, at: Moment) -> Vec<&'s str> {
    let day = &state.days[day];
    let acknowledged = day.acknowledged.get(caution);
    day.crew_at(at).filter(|name| acknowledged.and_then(|by| by.get(*name)).is_none_or(|when| *when > at)).collect()
}

/// A name as it is typed on a command line.
fn quoted(name: &str) -> String {
    if name.contains(char::is_whitespace) { format!("\"{name}\"") } else { name.to_owned() }
}
