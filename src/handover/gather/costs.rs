//! Stoppages and quantities. Never prices, nor what a crew-hour does: that is the crew's own.

use crate::accounts::{ClaimLine, Period, StoppageRow, claim, stood};
use crate::day::{Book, State};
use crate::moment::Moment;

/// The stoppages of a job with what each cost, and the crew-hours lost in all.
pub fn stoppages(state: &State, now: Moment) -> (Vec<StoppageRow>, f64) {
    let sum = stood(state, |_| true, now);
    let row = |row: StoppageRow| StoppageRow { lost_h: hundredth(row.lost_h), ..row };
    (sum.each.into_iter().map(row).collect(), sum.total_h)
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
