//! The forecast that the record holds.

use crate::conditions::forecast::Forecast;
use crate::moment::Moment;
use crate::record::EntryId;

/// The last forecast that was added.
#[derive(Debug, Clone)]
pub struct ForecastInForce {
    /// The entry.
    pub entry: EntryId,
    /// When it was added.
    pub at: Moment,
    /// Where it comes from.
    pub source: Option<String>,
    /// What is expected.
    pub forecast: Forecast,
}
