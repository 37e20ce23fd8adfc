//! R7: what a step is done with: a batch past its last day.

use std::collections::BTreeMap;

use super::breach::Breach;
use crate::building::SubjectKind;
use crate::day::state::State;
use crate::materials::product::Amount;
use crate::moment::{Moment, dated};
use crate::record::Answer;
use crate::refusal::{Clears, Remedy, Rule};
use crate::sequence::Step;

/// The products that a step takes from the stock: the ask, the product, and the batch that its answer names.
///
/// What is asked on the whole job is a look at what was delivered, no use of it.
pub(in crate::day) fn stock_of<'a>(
    step: &'a Step,
    answers: &'a BTreeMap<String, Answer>,
) -> impl Iterator<Item = (&'a str, &'a str, Option<&'a str>)> {
    let asks = step.asks.iter().filter(|_| !step.is_on(SubjectKind::Job));
    asks.filter_map(|ask| {
        let batch = match answers.get(&ask.key) {
            Some(Answer::Words(label)) => Some(label.as_str()),
            _ => None,
        };
        Some((ask.key.as_str(), ask.product.as_deref()?, batch))
    })
}

/// The batches of a step's answers that may not be used any more.
pub(in crate::day) fn judge_batches(
    state: &State,
    step: &Step,
    answers: &BTreeMap<String, Answer>,
    at: Moment,
) -> Vec<Breach> {
    stock_of(step, answers).filter_map(|(ask, product, batch)| expired(state, ask, product, batch?, at)).collect()
}

/// A batch that may not be used any more. The last day itself is in date, by the site's clocks.
pub(in crate::day) fn expired(state: &State, key: &str, product: &str, batch: &str, at: Moment) -> Option<Breach> {
    let day = at.date();
    let last = state.stock.expires(product, batch).filter(|last| *last < day)?;
    let in_date: Vec<String> = state
        .choices(product, None, at)
        .into_iter()
        .filter(|choice| choice.expires.is_none_or(|last| last >= day) && choice.left > Amount::NONE)
        .map(|choice| choice.batch)
        .collect();
    let clears = if in_date.is_empty() {
        let words = format!("use {product} that is in date, or have some delivered");
        Clears::from(words).by(Remedy::Deliver { product: product.to_owned() })
    } else {
        format!("use a batch that is in date: {}", in_date.join(" or ")).into()
    };
    let why = format!("{product} {batch} expired on {}; it is {}", dated(last), dated(day));
    Some(Breach::new(Rule::Condition, &format!("expired-{key}"), why, clears))
}

impl State {
    /// R7: what stops a batch from being used at a moment: that it is past its last day.
    pub fn past_its_day(&self, product: &str, batch: &str, at: Moment) -> Option<Breach> {
        expired(self, "batch", product, batch, at)
    }
}
