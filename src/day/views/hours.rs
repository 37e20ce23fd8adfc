//! The hours that are offered when a site day is closed.

use chrono::TimeDelta;

use crate::day::facts::Day;
use crate::moment::Moment;

/// Hours of a usual day.
pub const USUAL_HOURS: &str = "8";

/// More is no day's work: the day was closed on another. Common practice, no source.
const LONGEST_OFFERED: TimeDelta = TimeDelta::hours(14);

/// The hours of whoever was not there all day, as they are typed: `4:50`; nothing for the others, nor for whoever came later
/// when the day is closed on another one.
pub fn hours_offered(day: &Day, name: &str, now: Moment) -> Option<String> {
    let stayed = day.stayed_part(name, now)?;
    let minutes = stayed.num_minutes();
    (stayed < LONGEST_OFFERED).then(|| format!("{}:{:02}", minutes / 60, minutes % 60))
}
