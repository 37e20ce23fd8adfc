//! Deliveries, and what is taken of them otherwise than by a step.

use chrono::NaiveDate;
use clap::Args;
use serde::{Deserialize, Serialize};

use super::work::StoppedBy;
use crate::materials::product::Amount;
use crate::moment::parse_date;

/// A batch of a product comes onto site.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct DeliverBatch {
    /// What it is: panel, primer, sealant, tape, ...
    #[arg(long, value_name = "PRODUCT")]
    pub product: String,
    /// Batch number on the label
    #[arg(long, value_name = "LABEL")]
    pub batch: String,
    /// Its colour
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// How many came
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = Amount::typed)]
    pub count: Amount,
    /// What it is counted in [default: the product's usual unit]
    // In a request, empty stands for the usual one.
    #[arg(long, value_name = "UNIT", default_value = "", hide_default_value = true)]
    pub unit: String,
    /// The last day on which it may be used, as in 2026-11-30
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<NaiveDate>,
    /// How it came: whole, wet, corners chipped
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What became of stock that was taken.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    clap::ValueEnum,
    strum::IntoStaticStr,
)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum StockUse {
    /// It went to its subject.
    #[default]
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

impl StockUse {
    /// The word, as the record and the command line have it.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Whether it ended up on the building.
    pub fn is_on_the_wall(self) -> bool {
        matches!(self, Self::Used | Self::OffCut)
    }
}

/// Stock is taken otherwise than by a step.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct TakeStock {
    /// The product, where the label alone does not say
    // In a request, empty stands for the one product that was delivered under this label.
    #[arg(long, value_name = "PRODUCT", default_value = "", hide_default_value = true)]
    pub product: String,
    /// Batch number on the label
    #[arg(value_name = "BATCH")]
    pub batch: String,
    /// What it went to
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What became of it: used, cut-up, off-cut, thrown-away, sent-back
    #[arg(long = "as", value_name = "HOW", default_value = "used", value_enum, hide_possible_values = true)]
    pub how: StockUse,
    /// How many, on each subject; without it, what the subject takes by the job's geometry
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = Amount::typed)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<Amount>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Why it is recorded although a rule stops it.
    #[arg(skip)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
    /// The rules that stopped it then, as of a step.
    #[arg(skip)]
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stopped_by: Vec<StoppedBy>,
}
