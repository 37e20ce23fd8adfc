//! What the job took: stoppages, extra work, quantities and pace. Never prices: those are told by `cladlog claim` alone.

use rust_decimal::Decimal;
use serde::Serialize;

use crate::accounts::claim::number;
use crate::accounts::pace::Pace;
use crate::building::Unit;
use crate::moment::Moment;

/// What the job took.
#[derive(Debug, Clone, Serialize)]
pub struct Costs {
    /// Stoppages.
    pub stoppages: Vec<StoppageTold>,
    /// Crew-hours lost to them, time that two of them share counted once.
    pub crew_hours_lost: f64,
    /// Extra work.
    pub extras: Vec<ExtraTold>,
    /// What is complete, by part of the building and stage.
    pub quantities: Vec<QuantityTold>,
    /// Hours by stage, and what a crew-hour did.
    pub pace: Pace,
}

/// A stoppage.
#[derive(Debug, Clone, Serialize)]
pub struct StoppageTold {
    /// Id of the entry.
    pub entry: String,
    /// Where.
    pub subject: String,
    /// Why.
    pub cause: String,
    /// Who was told.
    pub told: Vec<String>,
    /// How many stood idle; everybody on site when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// Since when.
    pub started_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Crew-hours lost to it.
    pub crew_hours_lost: f64,
    /// Remark at its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Extra work.
#[derive(Debug, Clone, Serialize)]
pub struct ExtraTold {
    /// Id of the entry.
    pub entry: String,
    /// Where.
    pub subject: String,
    /// When it was asked for.
    pub at: Moment,
    /// What.
    pub what: String,
    /// Who asked.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// How much, in words.
    pub size: String,
}

/// How much of a stage there is on a part of the building, and how much of it is complete.
#[derive(Debug, Clone, Serialize)]
pub struct QuantityTold {
    /// The wall, the corner, or `job`.
    pub part: String,
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// What it is measured in.
    pub unit: Unit,
    /// All there is.
    #[serde(serialize_with = "number")]
    pub whole: Decimal,
    /// Of it complete.
    #[serde(serialize_with = "number")]
    pub complete: Decimal,
}
