//! Sealing: the weather that each joint was sealed in, and the plans.

use crate::conditions::dew;
use crate::day::{Reading, SealPlan};
use crate::record::TakeReading;
use crate::units::{Humidity, Temperature};

/// One priming of a joint, and what became of it.
#[derive(Debug)]
pub struct JointRun<'b> {
    /// Index of its run among the windows of the document.
    pub window: usize,
    /// The weather that it was primed in, as far as it was read.
    pub primed_in: Option<NearestReading<'b>>,
    /// The weather that it was gunned in, as far as it was read.
    pub gunned_in: Option<NearestReading<'b>>,
    /// Whether the wall was in direct sun by the almanac; absent where place or bearing is not known.
    pub in_sun: Option<bool>,
}

/// The last reading before the work, or where there is none the first one after.
#[derive(Debug, Clone, Copy)]
pub struct NearestReading<'b> {
    /// The reading.
    pub reading: &'b Reading,
    /// Minutes from the reading to the work; negative when it was read afterwards.
    pub age_min: i64,
}

impl NearestReading<'_> {
    /// Surface over the dew point, °C, to a tenth.
    pub fn dew_margin_c(&self) -> Option<f64> {
        self.reading.surface_c.zip(dew_point_c(self.reading)).map(|(surface, dew)| tenth(surface - dew))
    }
}

/// What was read, wherever that was.
pub fn values(reading: &Reading) -> TakeReading {
    TakeReading { subject: String::new(), ..reading.says.clone() }
}

/// The dew point of a reading, °C, by the same formula as the limits.
pub fn dew_point_c(reading: &Reading) -> Option<f64> {
    let (air, humidity) = (Temperature::celsius(reading.air_c?), Humidity::percent(reading.humidity_pct?));
    dew::dew_point(air, humidity).ok().map(Temperature::as_celsius)
}

/// To a tenth, and never -0: as fine as it was read, and the same on every machine.
pub fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// A seal plan that was kept.
#[derive(Debug)]
pub struct PlanOfDay<'b> {
    /// The plan.
    pub plan: &'b SealPlan,
    /// Its drawing; absent where the plan and the day don't fit.
    pub svg: Option<String>,
}
