//! Stoppages, quantities and pace. Never prices: only `cladlog claim` gives those.

use crate::accounts::pace::{Pace, Range};
use crate::accounts::{ClaimLine, Period, StoppageRow, claim, pace, stood};
use crate::day::{Book, State};
use crate::handover::model::tenth;
use crate::moment::Moment;

/// The stoppages of a job with what each cost, and the crew-hours lost in all.
pub fn stoppages(state: &State, now: Moment) -> (Vec<StoppageRow>, f64) {
    let sum = stood(state, |_| true, now);
    let row = |(stoppage, lost_h): &(&_, f64)| StoppageRow::of(stoppage, hundredth(*lost_h));
    (sum.each.iter().map(row).collect(), sum.total_h)
}

/// What is complete, by part of the building and stage.
pub fn quantities(book: &Book, now: Moment) -> Vec<ClaimLine> {
    // A record that was replayed once can be replayed again.
    claim(book, &[], Period::default(), now).map(|claim| claim.lines).unwrap_or_default()
}

/// A hundredth is as fine as hours are given, and the same on every machine.
fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

/// The pace, its shares rounded.
pub fn rounded_pace(state: &State, now: Moment) -> Pace {
    let mut pace = pace(state, now);
    let range = |range: &mut Range| (range.low, range.high) = (hundredth(range.low), hundredth(range.high));
    for stage in &mut pace.stages {
        stage.crew_hours = hundredth(stage.crew_hours);
        stage.per_crew_hour = stage.per_crew_hour.map(hundredth);
        // The quantities add up rounded lines: to a tenth both say the same.
        stage.done = stage.done.map(tenth);
        stage.range.iter_mut().for_each(range);
    }
    pace.days_left.iter_mut().for_each(range);
    pace
}
