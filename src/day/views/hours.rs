//! The hours that are offered when a site day is closed.

use crate::day::facts::Day;

/// Hours of a usual day.
pub const USUAL_HOURS: &str = "8";

/// The hours of whoever left before the day is closed, as they are typed: `4:50`; nothing for whoever is still there.
pub fn hours_offered(day: &Day, name: &str) -> Option<String> {
    let minutes = day.stayed_until_left(name)?.num_minutes();
    Some(format!("{}:{:02}", minutes / 60, minutes % 60))
}
