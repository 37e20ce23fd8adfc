//! Materials: what was ordered, what came, where each batch is, and what was cut.

use chrono::NaiveDate;
use serde::Serialize;

use crate::day::{Order, OrderedVsUsed};
use crate::materials::product::Amount;
use crate::moment::Moment;
use crate::record::StockUse;

/// What the record says of materials.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Materials {
    /// Batches, product by product.
    pub batches: Vec<BatchTold>,
    /// Everything that was taken, product by product, batch by batch.
    pub taken: Vec<TakenTold>,
    /// Where each batch is on the building.
    pub traced: Vec<TracedTold>,
    /// What to know of them, what presses most first.
    pub flags: Vec<String>,
    /// Ordered against used, product by product.
    pub compared: Vec<OrderedVsUsed>,
}

/// A batch on a part of the building.
#[derive(Debug, Clone, Serialize)]
pub struct TracedTold {
    /// The product.
    pub product: String,
    /// The subjects, written short.
    pub on: String,
    /// The batch; absent where nobody named it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// When the first of it was used there.
    pub first_at: Moment,
    /// When the last.
    pub last_at: Moment,
}

/// A batch.
#[derive(Debug, Clone, Serialize)]
pub struct BatchTold {
    /// The product.
    pub product: String,
    /// What stands on the label.
    pub batch: String,
    /// Its colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// What it is counted in.
    pub unit: String,
    /// The last day on which it may be used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expires: Option<NaiveDate>,
    /// Its deliveries; none for one that never came.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub came: Vec<CameTold>,
    /// How many came.
    pub delivered: Amount,
    /// How many were used or cut up.
    pub used: Amount,
    /// How many were thrown away or sent back.
    pub gone: Amount,
    /// How many are left; less than nothing where more was used than came.
    pub left: Amount,
    /// What to know of this batch.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub flags: Vec<String>,
}

/// A delivery.
#[derive(Debug, Clone, Serialize)]
pub struct CameTold {
    /// When.
    pub at: Moment,
    /// How many.
    pub count: Amount,
    /// How it came, and remarks.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub said: String,
    /// Id of the entry.
    pub entry: String,
}

/// Something that was taken.
#[derive(Debug, Clone, Serialize)]
pub struct TakenTold {
    /// The product.
    pub product: String,
    /// The batch; absent where nobody named it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// The subject.
    pub subject: String,
    /// What became of it.
    pub how: StockUse,
    /// The step that took it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// How many; absent where it is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<Amount>,
    /// By hand, or by the geometry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_by: Option<&'static str>,
    /// When.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// Id of the entry.
    pub entry: String,
    /// A remark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// The take-offs and cut plans in force.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Ordered {
    /// Take-offs: the whole job's, then those of walls in building order.
    pub takeoffs: Vec<Order>,
    /// Cut plans, in the same order.
    pub cuts: Vec<CutsTold>,
}

/// A cut plan.
#[derive(Debug, Clone, Serialize)]
pub struct CutsTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was kept.
    pub at: Moment,
    /// A wall, or the job.
    pub on: String,
    /// Boards bought.
    pub boards: u64,
    /// Their length together, mm.
    pub bought_mm: u64,
    /// No plan buys less than this, mm.
    pub lower_bound_mm: u64,
    /// Whether the length is proved least.
    pub proven: bool,
    /// Offcuts of earlier walls that are used up.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts_used: Vec<String>,
    /// Offcuts that are kept after it, with their lengths in mm.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts_left: Vec<String>,
}
