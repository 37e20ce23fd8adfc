//! The claim table: what is complete, by part of the building and stage, and what it comes to at the job's rates.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};
use clap::Args;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::Serialize;

use super::measure::Measures;
use super::stood::{StoppageRow, stood};
use super::work::{Piece, has_unit, part_of, pieces, unit_of};
use crate::building::{Rate, Unit};
use crate::day::{Book, ExtraWork, ReplayError, State};
use crate::moment::{Moment, day_begins};
use crate::sequence::Sequence;
use crate::table::{as_rows, grouped};
use crate::units::decimal;

/// The dates that a list or a claim covers, both included
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Args)]
pub struct Period {
    /// The first day of the period [default: the beginning of the job]
    #[arg(long, value_name = "DATE")]
    pub from: Option<NaiveDate>,
    /// The last day of the period [default: today]
    #[arg(long, value_name = "DATE")]
    pub until: Option<NaiveDate>,
}

/// A line of the claim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// The wall, the corner, or `job`.
    pub part: String,
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// What it is measured in.
    pub unit: Unit,
    /// All that there is of it.
    #[serde(serialize_with = "decimal::serialize")]
    pub whole: Decimal,
    /// Complete at the end of the period.
    #[serde(serialize_with = "decimal::serialize")]
    pub so_far: Decimal,
    /// Of it complete in the period; less than zero where something had to be opened again.
    #[serde(serialize_with = "decimal::serialize")]
    pub period: Decimal,
    /// Price of one unit.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "decimal::option::serialize")]
    pub price: Option<Decimal>,
    /// What is complete is worth.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "decimal::option::serialize")]
    pub value_so_far: Option<Decimal>,
    /// What became complete in the period is worth.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "decimal::option::serialize")]
    pub value_period: Option<Decimal>,
}

/// A claim.
#[derive(Debug, Clone, Serialize)]
pub struct Claim {
    /// From the beginning of this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<NaiveDate>,
    /// To the end of this day.
    pub until: NaiveDate,
    /// The lines, in the order of the building and of the sequence.
    pub lines: Vec<Line>,
    /// Currency of the rates.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What is complete is worth, all lines together.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "decimal::option::serialize")]
    pub value_so_far: Option<Decimal>,
    /// What became complete in the period is worth.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "decimal::option::serialize")]
    pub value_period: Option<Decimal>,
    /// Extra work asked for in the period.
    #[serde(serialize_with = "as_rows")]
    pub extras: Vec<ExtraWork>,
    /// Stoppages that began in the period, with the crew-hours lost to each.
    #[serde(serialize_with = "as_rows")]
    pub stoppages: Vec<StoppageRow>,
    /// Crew-hours lost to them, time that two of them share counted once.
    pub crew_hours_lost: f64,
    /// What could not be measured.
    pub remarks: Vec<String>,
}

/// Why there is no claim.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ClaimError {
    /// The period ends before it begins.
    #[error("the period ends on {until}, before it begins on {from}")]
    Backwards {
        /// Its first day.
        from: NaiveDate,
        /// Its last.
        until: NaiveDate,
    },
    /// The record can't be replayed.
    #[error(transparent)]
    Replay(#[from] ReplayError),
}

/// A quantity rounded as the claim prints it: to a hundredth, half away from zero.
///
/// # Example
/// ```
/// use cladlog::accounts::claim::hundredths;
/// assert_eq!(hundredths("41.485".parse().unwrap()).to_string(), "41.49");
/// assert_eq!(hundredths("-0.005".parse().unwrap()).to_string(), "-0.01");
/// ```
pub fn hundredths(value: Decimal) -> Decimal {
    let mut rounded = value.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
    rounded.rescale(2);
    rounded
}

/// What a quantity is worth: the quantity rounded to a hundredth, times the price, rounded to a hundredth.
///
/// # Example
/// 41.48 m² at 36.25 come to 1503.65 exactly (common practice, no source).
/// ```
/// use cladlog::accounts::claim::worth;
/// assert_eq!(worth("41.48".parse().unwrap(), "36.25".parse().unwrap()).to_string(), "1503.65");
/// ```
pub fn worth(quantity: Decimal, price: Decimal) -> Decimal {
    hundredths(hundredths(quantity).checked_mul(price).unwrap_or(Decimal::MAX))
}

/// Rates that name no stage of the sequence, or a unit that the stage has no work in: why, a line each.
pub fn rates_that_do_not_fit(sequence: &Sequence, rates: &[Rate]) -> Vec<String> {
    let error = |rate: &Rate| {
        let Some(stage) = sequence.stages.index_of(|stage| stage.key == rate.stage) else {
            let keys: Vec<&str> = sequence.stages.iter().map(|stage| stage.key.as_str()).collect();
            return Some(format!(
                "a rate names stage '{}': sequence {} has {}",
                rate.stage,
                sequence.key,
                keys.join(", ")
            ));
        };
        (!has_unit(sequence, stage, rate.unit)).then(|| {
            let Rate { stage, unit, .. } = rate;
            format!("a rate pays stage '{stage}' by {unit}, but none of its work is measured that way")
        })
    };
    rates.iter().filter_map(error).collect()
}

/// The claim of a period, as the record stands at `now`.
///
/// A subject counts when every step that the stage asks of it is complete: a course hung and not yet levelled is not
/// claimed. What is complete at the end of the period, less what was complete before it, is the period's: so claims
/// of one period after another add up to the whole, also where something was opened again in between. Only money is
/// taken as a difference of rounded sums, so that the claims add up to the cent. A rate that doesn't fit the
/// sequence in force is left out. Of a stage that the sequence in force no longer has nothing is complete: what was claimed
/// for it is taken back.
///
/// # Errors
/// [`ClaimError`].
pub fn claim(book: &Book, rates: &[Rate], period: Period, now: Moment) -> Result<Claim, ClaimError> {
    let zone = book.state.job.time_zone;
    let until = period.until.unwrap_or_else(|| now.date());
    if let Some(from) = period.from.filter(|from| *from > until) {
        return Err(ClaimError::Backwards { from, until });
    }
    let last = until.succ_opt().map_or(now, |next| day_begins(next, zone) - TimeDelta::seconds(1)).min(now);
    let begin = period.from.map(|from| day_begins(from, zone) - TimeDelta::seconds(1));
    let state = book.as_of(last)?;
    let state = state.as_ref();
    let measures = Measures::of(state);
    // What was complete before is what a claim of then said: by its own edition of the sequence, and its own measures.
    let before = begin.map(|begin| book.as_of(begin).map(|state| (Measures::of(&state), state, begin))).transpose()?;
    let now_complete = quantities(state, &measures, rates, last);
    let earlier = before.as_ref().map(|(measures, state, begin)| quantities(state, measures, rates, *begin));
    let earlier = earlier.unwrap_or_default();
    let stages = state.sequence().stages.iter();
    let dropped = before.iter().flat_map(|(_, before, _)| &before.sequence().stages);
    let dropped = dropped.filter(|old| state.sequence().stages.iter().all(|stage| stage.key != old.key));
    let mut lines = Vec::new();
    for stage in stages.chain(dropped) {
        let of_stage = |all: &BTreeMap<LineKey, Quantity>| -> Vec<LineKey> {
            all.keys().filter(|key| key.stage == stage.key).cloned().collect()
        };
        let keys: BTreeSet<LineKey> = of_stage(&now_complete).into_iter().chain(of_stage(&earlier)).collect();
        for key in keys {
            let found = now_complete.get(&key).copied().unwrap_or_default();
            let before = earlier.get(&key).map_or_else(|| hundredths(Decimal::ZERO), |quantity| quantity.complete);
            if !found.whole.is_zero() || !before.is_zero() {
                lines.push(line_of(key, &stage.title, found, before, rates));
            }
        }
    }
    let place = |part: &str| state.subjects.index(part);
    // Stable: within a part the stages keep the order of the sequence.
    lines.sort_by_key(|line| (place(&line.part).is_none(), place(&line.part)));
    let within = |at: &Moment| *at <= last && begin.is_none_or(|begin| *at > begin);
    let stood = stood(state, |one| within(&one.started_at), last);
    let priced = lines.iter().any(|line| line.price.is_some());
    let total = |value: fn(&Line) -> Option<Decimal>| priced.then(|| hundredths(lines.iter().filter_map(value).sum()));
    Ok(Claim {
        from: period.from,
        until,
        currency: rates.first().map(|rate| rate.currency.clone()).filter(|_| priced),
        value_so_far: total(|line| line.value_so_far),
        value_period: total(|line| line.value_period),
        extras: state.extras.iter().filter(|extra| within(&extra.at)).cloned().collect(),
        stoppages: stood.each,
        crew_hours_lost: stood.total_h,
        remarks: measures.remarks,
        lines,
    })
}

/// A line of what is complete now and what was before the period.
fn line_of(key: LineKey, title: &str, found: Quantity, before: Decimal, rates: &[Rate]) -> Line {
    let own = rates.iter().find(|rate| rate.stage == key.stage && rate.unit == key.unit);
    let price = own.and_then(|rate| rounded(rate.price));
    let value_so_far = price.map(|price| worth(found.complete, price));
    Line {
        title: title.to_owned(),
        whole: found.whole,
        so_far: found.complete,
        period: found.complete - before,
        price,
        value_so_far,
        value_period: value_so_far.zip(price).map(|(value, price)| value - worth(before, price)),
        part: key.part,
        stage: key.stage,
        unit: key.unit,
    }
}

/// The decimal that a number was typed as; measures are cut to a millionth, where no sum of millimetres reaches.
fn rounded(value: f64) -> Option<Decimal> {
    Decimal::try_from(value).ok().map(|value| value.round_dp(6))
}

/// What a line of the claim is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct LineKey {
    stage: String,
    unit: Unit,
    part: String,
}

/// How much there is of it, and how much of that is complete.
#[derive(Debug, Clone, Copy, Default)]
struct Quantity {
    whole: Decimal,
    complete: Decimal,
}

/// How much of each stage there is and is complete at a moment, by the sequence of then, part by part and in each unit that
/// it is paid by, or else measured in.
fn quantities(state: &State, measures: &Measures, rates: &[Rate], at: Moment) -> BTreeMap<LineKey, Quantity> {
    let mut all = BTreeMap::new();
    for (place, stage) in state.sequence().stages.indexed() {
        let mut units: Vec<Unit> = rates.iter().filter(|rate| rate.stage == stage.key).map(|rate| rate.unit).collect();
        if units.is_empty() {
            units.extend(unit_of(state.sequence(), place));
        }
        for &unit in &units {
            for (part, list) in by_part(state, pieces(state, measures, place, unit, &units)) {
                let (whole, complete) = (sum(&list, |_| true), sum(&list, |piece| stands(state, piece, at)));
                all.insert(LineKey { stage: stage.key.clone(), unit, part }, Quantity { whole, complete });
            }
        }
    }
    all
}

/// The quantities of some pieces together, as the claim prints them.
fn sum(pieces: &[Piece], wanted: impl Fn(&Piece) -> bool) -> Decimal {
    hundredths(pieces.iter().filter(|piece| wanted(piece)).filter_map(|piece| rounded(piece.quantity?)).sum())
}

/// Whether a piece, of this state's own sequence, is complete.
fn stands(state: &State, piece: &Piece, at: Moment) -> bool {
    piece.steps.iter().all(|step| state.complete(*step, piece.subject, at))
}

/// Pieces by the part of the building that they belong to, in the order of the building.
fn by_part(state: &State, pieces: Vec<Piece>) -> Vec<(String, Vec<Piece>)> {
    grouped(pieces.into_iter().map(|piece| (part_of(state, piece.subject), piece)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn worth_is_whole_hundredths_and_off_by_less_than_one(thousandths in 0i64..100_000_000, price in 0i64..10_000_000) {
            let (quantity, price) = (Decimal::new(thousandths, 3), Decimal::new(price, 3));
            let value = worth(quantity, price);
            prop_assert_eq!(value, hundredths(value));
            let exact = hundredths(quantity) * price;
            prop_assert!((value - exact).abs() <= Decimal::new(5, 3));
        }
    }
}
