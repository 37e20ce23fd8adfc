//! What was delivered and what was taken.

use std::sync::Arc;

use chrono::NaiveDate;

use super::fact::Fact;
use crate::building::SubjectIx;
use crate::materials::product::Amount;
use crate::moment::Moment;
use crate::record::{DeliverBatch, EntryId, StockUse};

/// A delivery.
pub type Delivery = Fact<DeliverBatch>;

/// Something taken from the stock, by a step or by an entry of its own.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The entry.
    pub entry: EntryId,
    /// When.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// The product.
    pub product: String,
    /// The batch; `None` where a step used the product and nobody named the batch.
    pub batch: Option<String>,
    /// Index of the subject; 0, the job, where it went to none.
    pub subject: SubjectIx,
    /// What became of it.
    pub how: StockUse,
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
    /// What was delivered.
    pub deliveries: Vec<Delivery>,
    /// What was taken; shared with every count of it.
    pub taken: Vec<Arc<Taken>>,
}

/// A label as it is compared: capitals and spaces don't count.
pub fn plain_label(label: &str) -> String {
    label.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl Stock {
    /// The deliveries of a batch so far.
    pub fn of_batch<'s>(&'s self, product: &'s str, batch: &str) -> impl Iterator<Item = &'s Delivery> + use<'s> {
        let label = plain_label(batch);
        self.deliveries.iter().filter(move |came| came.product == product && plain_label(&came.batch) == label)
    }

    /// The last day on which a batch may be used; the earliest, where its deliveries say different ones.
    pub fn expires(&self, product: &str, batch: &str) -> Option<NaiveDate> {
        self.of_batch(product, batch).filter_map(|came| came.expires).min()
    }

    /// Whether the count of a product is kept: something of it was delivered.
    pub fn is_kept(&self, product: &str) -> bool {
        self.deliveries.iter().any(|came| came.product == product)
    }

    /// What a product is counted in on this job, once something of it was delivered.
    pub fn unit(&self, product: &str) -> Option<&str> {
        self.deliveries.iter().find(|came| came.product == product).map(|came| came.unit.as_str())
    }
}
