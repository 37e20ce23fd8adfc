//! How times and what is not known are written in the pack.

use chrono::TimeDelta;

use crate::moment::Moment;

/// In place of a batch that nobody named.
pub const NOT_NAMED: &str = "BATCH NOT NAMED";

/// A moment for people, in local time: `2 Mar 2026 10:40`.
pub fn when(moment: &Moment) -> String {
    moment.format("%-d %b %Y %H:%M").to_string()
}

/// A moment for people on a known day: the time, with the day in front where it is another.
pub fn clock_on(moment: &Moment, day: &Moment) -> String {
    if moment.date() == day.date() { moment.format("%H:%M").to_string() } else { when(moment) }
}

/// When a time limit ends, for people on a known day: of one that is longer than a week nobody counts the minutes.
pub fn ends_on(end: &Moment, began: &Moment, day: &Moment) -> String {
    let is_long = *end - *began > TimeDelta::weeks(1);
    if is_long { end.format("%-d %b %Y").to_string() } else { clock_on(end, day) }
}

/// The days from one moment to another: `4 Mar 2026`, `4 Mar to 5 Mar 2026`.
pub fn day_span(first: &Moment, last: &Moment) -> String {
    let until = last.format("%-d %b %Y");
    if first.date() == last.date() { until.to_string() } else { format!("{} to {until}", first.format("%-d %b")) }
}
