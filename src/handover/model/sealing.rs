//! Sealing: each joint with its clock and the weather it was sealed in, the plans and the forecasts.

use serde::Serialize;

use crate::moment::Moment;

/// One priming of a joint, and what became of it.
#[derive(Debug, Clone, Serialize)]
pub struct JointTold {
    /// The joint.
    pub subject: String,
    /// The part of the building.
    pub part: String,
    /// When it was primed.
    pub primed_at: Moment,
    /// When it might be gunned.
    pub opens_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closes_at: Option<Moment>,
    /// When it was gunned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gunned_at: Option<Moment>,
    /// How the window ended: met, early, late, lapsed, again, running.
    pub state: &'static str,
    /// The same in words.
    pub says: String,
    /// The weather that it was primed in, as far as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub primed_in: Option<WeatherTold>,
    /// The weather that it was gunned in, as far as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weather: Option<WeatherTold>,
    /// Whether the wall stood in direct sun by the almanac; absent where place or bearing is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_sun: Option<bool>,
}

/// The last reading before, or where there is none the first one after.
#[derive(Debug, Clone, Serialize)]
pub struct WeatherTold {
    /// Id of the entry.
    pub reading: String,
    /// Minutes from the reading to the work; negative when it was read afterwards.
    pub age_min: i64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Surface over the dew point, °C, to a tenth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dew_margin_c: Option<f64>,
    /// Rain on the wall.
    pub rain: bool,
}

/// A forecast that was taken up.
#[derive(Debug, Clone, Serialize)]
pub struct ForecastTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was taken up.
    pub at: Moment,
    /// Where it comes from.
    pub source: String,
    /// Its hours, in words.
    pub hours: String,
}

/// A seal plan that was kept.
#[derive(Debug, Clone, Serialize)]
pub struct SealPlanTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was kept.
    pub at: Moment,
    /// What it comes to.
    pub says: String,
    /// Who does what, a line each, in time.
    pub stints: Vec<StintTold>,
    /// Joints left out, and why.
    pub left_out: Vec<String>,
    /// What rates and window rest on.
    pub basis: Vec<String>,
    /// Its drawing.
    #[serde(skip)]
    pub svg: String,
}

/// One thing that a plan asks of one person.
#[derive(Debug, Clone, Serialize)]
pub struct StintTold {
    /// Who.
    pub person: String,
    /// When, from and to.
    pub when: String,
    /// What.
    pub what: String,
}
