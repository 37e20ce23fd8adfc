//! What is next, the windows and the hold points as other programs read them.

use serde::Serialize;
use serde_json::{Value, json};

use super::coming::coming;
use super::next::Action;
use super::stock::Flag;
use super::windows::{WindowRow, running_windows};
use crate::day::facts::{HoldStatus, Stoppage};
use crate::day::state::State;
use crate::moment::Moment;
use crate::refusal::Rule;

#[derive(Serialize)]
struct Listed<'a> {
    step: &'a str,
    subject: String,
    state: &'static str,
    why: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule: Option<Rule>,
    #[serde(skip_serializing_if = "Option::is_none")]
    opens_at: Option<Moment>,
    #[serde(skip_serializing_if = "Option::is_none")]
    closes_at: Option<Moment>,
}

/// A flag, as JSON has it.
#[derive(Debug, Serialize)]
pub struct FlagJson<'a> {
    sort: &'static str,
    product: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    batch: Option<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    on: Vec<String>,
    /// In words.
    pub says: &'a str,
}

impl<'a> FlagJson<'a> {
    /// A flag of a state.
    pub fn of(state: &State, flag: &'a Flag) -> Self {
        Self {
            sort: flag.kind.word(),
            product: &flag.product,
            batch: flag.batch.as_deref(),
            on: flag.on.iter().map(|subject| state.subjects.get(*subject).to_string()).collect(),
            says: &flag.says,
        }
    }
}

/// What of the stock will stand in the way of what is next.
pub fn stock_ahead(state: &State, now: Moment) -> Vec<Flag> {
    let mut ahead = state.stock_flags(now);
    ahead.retain(|flag| flag.kind.is_ahead());
    ahead
}

/// These actions, with what of the stock is in their way and what stands still.
pub fn next_listed(state: &State, actions: &[Action], now: Moment) -> Value {
    let listed = |action: &Action| {
        json!(Listed {
            step: &state.sequence().steps[action.step].key,
            subject: state.subjects.get(action.subject).to_string(),
            state: if action.ready && action.stopped.is_none() { "ready" } else { "waiting" },
            why: action.stopped.as_ref().unwrap_or(&action.why),
            rule: action.rule,
            opens_at: action.opens_at,
            closes_at: action.closes_at,
        })
    };
    let mut all = json!({ "actions": actions.iter().map(listed).collect::<Vec<_>>() });
    let ahead = stock_ahead(state, now);
    if !ahead.is_empty() {
        all["warnings"] = ahead.iter().map(|flag| json!(FlagJson::of(state, flag))).collect();
    }
    // Only where something stands still: most of the time there is nothing to say about it.
    let stopped: Vec<Value> = state.open_stoppages().map(stopped).collect();
    if !stopped.is_empty() {
        all["stoppages"] = stopped.into();
    }
    all
}

fn stopped(stoppage: &Stoppage) -> Value {
    json!({
        "id": stoppage.entry,
        "subject": stoppage.subject,
        "cause": stoppage.cause,
        "told": stoppage.notified,
        "started_at": stoppage.started_at.to_string(),
    })
}

/// Every window that runs, and what comes next by the seal plan.
pub fn windows_listed(state: &State, now: Moment) -> Value {
    let windows: Vec<WindowRow> =
        running_windows(state, now).iter().map(|run| WindowRow::of(run, state, now)).collect();
    let mut all = json!({ "windows": windows });
    if let Some(plan) = coming(state, now) {
        all["plan"] = json!(plan);
    }
    all
}

/// Every hold point on every subject, those that an edition dropped included.
pub fn holds_listed(state: &State) -> Vec<HoldStatus> {
    let in_force = state.holds().into_iter().map(|(_, _, hold)| hold);
    in_force.chain(state.dropped_holds.iter().cloned()).collect()
}
