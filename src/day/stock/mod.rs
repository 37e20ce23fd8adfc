//! Batches and stock: what was delivered, what was taken, and what is left for the walls still to do.
//!
//! The record holds deliveries, and what was taken: by a step that asks for a batch, or by an entry of its own. Everything else
//! is worked out from them each time, so that a struck delivery or use gives its count back. How much a step
//! took is the job's geometry ([`quantity`]), unless somebody counted it.

mod add;
mod compared;
mod flags;
mod ledger;
mod orders;
mod quantity;

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;

use super::breach::Breach;
use super::state::State;
use crate::building::SubjectKind;
use crate::materials::product::Amount;
use crate::moment::Moment;
use crate::record::{Answer, Body, Entry};
use crate::refusal::Rule;
use crate::sequence::Step;

pub(super) use add::{deliver, take};
pub use compared::Compared;
pub use flags::{Flag, Sort};
pub use ledger::{BatchLine, Choice, Counted, Ledger, Line};
pub use orders::{Order, OrderLine};

/// A delivery.
#[derive(Debug, Clone)]
pub struct Delivery {
    /// Id of the entry.
    pub entry: String,
    /// When it came.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// The product.
    pub product: String,
    /// What stands on the label.
    pub batch: String,
    /// Its colour.
    pub colour: Option<String>,
    /// How many.
    pub count: Amount,
    /// What it is counted in.
    pub unit: String,
    /// The last day on which it may be used.
    pub expires: Option<NaiveDate>,
    /// How it came.
    pub condition: Option<String>,
    /// A remark.
    pub note: Option<String>,
}

/// What became of stock that was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// It went to its subject.
    Used,
    /// Cut up for pieces that nothing else counts.
    CutUp,
    /// A piece of an off-cut went to its subject: nothing came off the stack for it.
    OffCut,
    /// Thrown away.
    ThrownAway,
    /// Sent back.
    SentBack,
}

impl How {
    /// The words that the record and the command line use.
    pub const WORDS: [(&'static str, Self); 5] = [
        ("used", Self::Used),
        ("cut-up", Self::CutUp),
        ("off-cut", Self::OffCut),
        ("thrown-away", Self::ThrownAway),
        ("sent-back", Self::SentBack),
    ];

    /// The word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, how)| *how == self).map_or("used", |(word, _)| word)
    }

    /// What a word stands for.
    pub fn of(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(known, _)| *known == word).map(|(_, how)| *how)
    }

    /// Whether it ended up on the building.
    pub fn is_on_the_wall(self) -> bool {
        matches!(self, Self::Used | Self::OffCut)
    }
}

/// Something taken from the stock.
#[derive(Debug, Clone)]
pub struct Taken {
    /// Id of the entry.
    pub entry: String,
    /// When.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// The product.
    pub product: String,
    /// The batch; `None` where a step used the product and nobody named the batch.
    pub batch: Option<String>,
    /// Index of the subject; 0, the job, where it went to none.
    pub subject: usize,
    /// What became of it.
    pub how: How,
    /// How many, where somebody counted.
    pub count: Option<Amount>,
    /// Key of the step that took it.
    pub step: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Why it was recorded although a rule stopped it.
    pub anyway: Option<String>,
}

/// What the record says of materials, in the order in which it happened.
#[derive(Debug, Clone, Default)]
pub struct Stock {
    /// What came.
    pub deliveries: Vec<Delivery>,
    /// What was taken; shared with every count of it.
    pub taken: Vec<Arc<Taken>>,
}

/// A label as it is compared: capitals and blanks don't count.
pub(super) fn plain(label: &str) -> String {
    label.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// Whether two labels are of the same batch.
pub fn same_label(one: &str, other: &str) -> bool {
    plain(one) == plain(other)
}

impl Stock {
    /// The deliveries of a batch so far.
    pub fn of_batch<'s>(&'s self, product: &'s str, batch: &str) -> impl Iterator<Item = &'s Delivery> + use<'s> {
        let label = plain(batch);
        self.deliveries.iter().filter(move |came| came.product == product && plain(&came.batch) == label)
    }

    /// The last day on which a batch may be used; the earliest, where its deliveries say different ones.
    pub fn expires(&self, product: &str, batch: &str) -> Option<NaiveDate> {
        self.of_batch(product, batch).filter_map(|came| came.expires).min()
    }

    /// Whether the count of a product is kept: something of it was delivered.
    pub fn is_kept(&self, product: &str) -> bool {
        self.deliveries.iter().any(|came| came.product == product)
    }

    /// What a product is counted in on this job, once something of it came.
    pub fn unit(&self, product: &str) -> Option<&str> {
        self.deliveries.iter().find(|came| came.product == product).map(|came| came.unit.as_str())
    }
}

/// The products that a step takes from the stock, with the batch that an answer names.
///
/// What is asked on the whole job is a look at what came, no use of it.
fn takes<'a>(
    step: &'a Step,
    answers: &'a BTreeMap<String, Answer>,
) -> impl Iterator<Item = (&'a str, &'a str, Option<&'a str>)> {
    let asks = step.asks.iter().filter(|_| step.on != SubjectKind::Job);
    asks.filter_map(|ask| {
        let batch = match answers.get(&ask.key) {
            Some(Answer::Words(label)) => Some(label.as_str()),
            _ => None,
        };
        Some((ask.key.as_str(), ask.product.as_deref()?, batch))
    })
}

/// R7: what stops a step because of what it is done with: a batch past its last day.
pub(super) fn judge(state: &State, step: &Step, answers: &BTreeMap<String, Answer>, at: Moment) -> Vec<Breach> {
    takes(step, answers).filter_map(|(ask, product, batch)| expired(state, ask, product, batch?, at)).collect()
}

/// R7: a batch that may not be used any more. The last day itself is in date, by the site's clocks.
pub(super) fn expired(state: &State, key: &str, product: &str, batch: &str, at: Moment) -> Option<Breach> {
    let day = at.date();
    let last = state.stock.expires(product, batch).filter(|last| *last < day)?;
    let in_date: Vec<String> = state
        .choices(product, None, at)
        .into_iter()
        .filter(|choice| choice.expires.is_none_or(|last| last >= day) && choice.left > Amount::NONE)
        .map(|choice| choice.batch)
        .collect();
    let clears = if in_date.is_empty() {
        format!("{product} that is in date: have some delivered (cladlog batch add --product {product} …)")
    } else {
        format!("a batch in date: {}", in_date.join(" or "))
    };
    let why = format!("{product} {batch} expired on {}; it is {}", told(last), told(day));
    Some(Breach::new(Rule::R7, &format!("expired-{key}"), why, clears))
}

/// A date as people read it.
pub(super) fn told(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

impl State {
    /// R7: what stops a batch from being used at a moment: that it is past its last day.
    pub fn past_its_day(&self, product: &str, batch: &str, at: Moment) -> Option<Breach> {
        expired(self, "batch", product, batch, at)
    }

    /// Takes a delivery down.
    pub(super) fn apply_delivery(&mut self, entry: &Entry) {
        let Body::BatchDelivered { product, batch, colour, count, unit, expires, condition, note } = &entry.body else {
            return;
        };
        self.stock.deliveries.push(Delivery {
            entry: entry.id(),
            at: entry.happened_at,
            by: entry.by.clone(),
            product: product.clone(),
            batch: batch.clone(),
            colour: colour.clone(),
            count: Amount::of(*count),
            unit: unit.clone(),
            expires: *expires,
            condition: condition.clone(),
            note: note.clone(),
        });
    }

    /// Takes down what was taken by an entry of its own; one past its last day becomes a defect.
    pub(super) fn apply_taken(&mut self, entry: &Entry) {
        let Body::StockTaken { product, batch, subject: on, how, count, note, anyway } = &entry.body else { return };
        let (Some(subject), Some(how)) = (self.subjects.index(on), How::of(how)) else {
            self.not_understood.push(entry.id());
            return;
        };
        if how.is_on_the_wall()
            && let Some(breach) = expired(self, "batch", product, batch, entry.happened_at)
        {
            let said = anyway.as_ref().map(|why| format!(" (recorded anyway: {why})")).unwrap_or_default();
            let id = format!("{}.r7-{}", entry.id(), breach.key);
            self.open_defect(entry, id, on, Some(Rule::R7), format!("{}{said}", breach.why));
        }
        self.stock.taken.push(Arc::new(Taken {
            entry: entry.id(),
            at: entry.happened_at,
            by: entry.by.clone(),
            product: product.clone(),
            batch: Some(batch.clone()),
            subject,
            how,
            count: count.map(Amount::of),
            step: None,
            note: note.clone(),
            anyway: anyway.clone(),
        }));
    }

    /// Takes down what a step took.
    pub(super) fn take_for_step(&mut self, entry: &Entry, step: &Step, subject: usize) {
        let Body::StepDone { answers, anyway, .. } = &entry.body else { return };
        for (_, product, batch) in takes(step, answers) {
            self.stock.taken.push(Arc::new(Taken {
                entry: entry.id(),
                at: entry.happened_at,
                by: entry.by.clone(),
                product: product.to_owned(),
                batch: batch.map(str::to_owned),
                subject,
                how: How::Used,
                count: None,
                step: Some(step.key.clone()),
                note: None,
                anyway: anyway.clone(),
            }));
        }
    }
}
