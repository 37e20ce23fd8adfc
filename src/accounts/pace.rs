//! C14 Pace: how much of each stage a crew-hour does on this job, and how many days are left.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use serde::Serialize;

use super::allot::{DayHours, Mark, allot};
use super::idle::Halt;
use super::measure::Measures;
use super::stood::{halt, shifts};
use super::work::{Piece, part_of, pieces, unit_of};
use crate::building::{SubjectIx, Unit};
use crate::day::State;
use crate::index::Indexed;
use crate::moment::Moment;
use crate::sequence::{Stage, StageIx, StepIx};
use crate::units::number::total;

/// Fewer stretches of work than this say nothing of what the next will take.
pub const LEAST_STRETCHES: usize = 3;

/// The pace of a stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StagePace {
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// Crew-hours put down to it, of days that are closed.
    pub crew_hours: f64,
    /// What it is measured in; absent for what is done once for the job, or can't be measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// How much was done in those hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub done: Option<f64>,
    /// How much is left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<f64>,
    /// Done in a crew-hour, over all of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per_crew_hour: Option<f64>,
    /// Stretches of work that the range rests on: one for each day and wall; walls recorded together are one.
    pub stretches: usize,
    /// Slow, as a quarter of the stretches were or slower, and fast, as a quarter were or faster.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<Range>,
    /// Crew-hours left, at the fast pace and at the slow one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crew_hours_left: Option<Range>,
}

/// From low to high.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// The low end.
    pub low: f64,
    /// The high end.
    pub high: f64,
}

/// The pace of a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pace {
    /// Every stage that hours were put down to or that has work left, in the order of the sequence.
    pub stages: Vec<StagePace>,
    /// Dates on which a site day is closed: two crews on one date make one.
    pub days: usize,
    /// Crew-hours of them.
    pub crew_hours: f64,
    /// Of them lost to stoppages.
    pub crew_hours_lost: f64,
    /// Crew-hours of such a date, all crews together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crew_hours_a_day: Option<f64>,
    /// Days left, where the record says enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub days_left: Option<Range>,
    /// Why no days are given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why_not: Option<String>,
    /// What could not be measured.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

impl Pace {
    /// The days left in a sentence, or why they are not known.
    pub fn in_words(&self) -> String {
        match (&self.days_left, &self.why_not) {
            (Some(range), _) if range.high == 0.0 => "no measured work is left".to_owned(),
            (Some(range), _) => format!("{} days left at this job's own pace", range.tenths()),
            (None, Some(why)) => format!("days left not known yet: {why}"),
            (None, None) => "days left not known yet".to_owned(),
        }
    }
}

impl Range {
    /// "3.1 to 4.2"; one number where both ends come to the same.
    pub fn tenths(&self) -> String {
        let (low, high) = (format!("{:.1}", self.low), format!("{:.1}", self.high));
        if low == high { low } else { format!("{low} to {high}") }
    }
}

/// The lower and the upper quartile of some speeds, by linear interpolation between the sorted values.
///
/// `None` for fewer than [`LEAST_STRETCHES`]. The quartiles and not the slowest and the fastest: one stretch that
/// was recorded late must not make the range useless.
///
/// # Example
/// Four walls at 4, 5, 7 and 10 m² a crew-hour: a quarter of the way through four values lies between the first and
/// the second, at 4.75; three quarters at 7.75 (common practice, no source).
/// ```
/// use cladlog::accounts::pace::quartiles;
/// let range = quartiles(&[10.0, 4.0, 7.0, 5.0]).unwrap();
/// assert_eq!((range.low, range.high), (4.75, 7.75));
/// assert!(quartiles(&[4.0, 5.0]).is_none());
/// ```
pub fn quartiles(speeds: &[f64]) -> Option<Range> {
    if speeds.len() < LEAST_STRETCHES {
        return None;
    }
    let mut sorted = speeds.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = part * (sorted.len() - 1) as f64;
        let (below, above) = (sorted[place.floor() as usize], sorted[place.ceil() as usize]);
        below + (above - below) * place.fract()
    };
    Some(Range { low: at(0.25), high: at(0.75) })
}

/// A stage on a day and a part of the building.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Stretch {
    stage: StageIx,
    day: usize,
    part: String,
}

/// What was done in a stretch of work.
#[derive(Debug, Default)]
struct Worked {
    quantity: f64,
    hours: f64,
    /// When it was recorded. What was recorded together shares its time by quantity and so has one speed.
    recorded_at: BTreeSet<Moment>,
}

/// The pace of a job as far as `now`.
///
/// The hours of each closed day are shared out by [`allot`]. A step done for the first time on a subject counts as
/// its share of the subject: half the course where the stage asks two things of a course. Done again it takes hours
/// and adds nothing. What is left is counted the same way, over everything that is not complete now. The days left
/// are the crew-hours left of all stages over those of a usual day of this job; they are given only where every
/// stage with work left has a pace.
pub fn pace(state: &State, now: Moment) -> Pace {
    let measures = Measures::of(state);
    let sequence = state.sequence();
    let units: Indexed<Stage, Option<Unit>> = sequence.stages.indexes().map(|stage| unit_of(sequence, stage)).collect();
    let by_stage: Indexed<Stage, Vec<Piece>> = units
        .indexed()
        .map(|(stage, unit)| unit.map(|unit| pieces(state, &measures, stage, unit, &[unit])).unwrap_or_default())
        .collect();
    let stretches = stretches(state, &by_stage, now);
    let closed = || state.days.iter().filter(|day| day.closed_at.is_some());
    let dates: BTreeSet<NaiveDate> = closed().map(|day| day.date).collect();
    let crew_hours = total(closed().flat_map(|day| day.hours.values().copied()));
    let put_down = total(stretches.values().map(|worked| worked.hours));
    let lost = super::stood::stood(state, |_| true, now).total_h;
    let mut stages = Vec::new();
    let mut lacking = Vec::new();
    for (stage, found) in sequence.stages.indexed() {
        let of_stage: Vec<(&Stretch, &Worked)> = stretches.iter().filter(|(at, _)| at.stage == stage).collect();
        let work = StageWork::of(state, &by_stage[stage], &of_stage, now);
        if work.hours == 0.0 && work.left == 0.0 && !work.waits {
            continue;
        }
        if (work.measured || work.waits) && work.hours_left().is_none() {
            lacking.push(found.title.clone());
        }
        stages.push(work.pace(found, units[stage]));
    }
    let crew_hours_a_day = (crew_hours > 0.0).then(|| crew_hours / dates.len() as f64);
    let left = || stages.iter().filter_map(|stage: &StagePace| stage.crew_hours_left);
    let left = Range { low: total(left().map(|range| range.low)), high: total(left().map(|range| range.high)) };
    let (days_left, why_not) = match crew_hours_a_day {
        None => (None, Some("no day with hours is closed yet".to_owned())),
        Some(_) if put_down == 0.0 => (None, Some("no closed day has steps in it".to_owned())),
        Some(_) if !lacking.is_empty() => {
            (None, Some(format!("still too few recorded days and walls of {}", all_of(&lacking))))
        }
        Some(a_day) => (Some(Range { low: left.low / a_day, high: left.high / a_day }), None),
    };
    Pace {
        stages,
        days: dates.len(),
        crew_hours,
        crew_hours_lost: lost,
        crew_hours_a_day,
        days_left,
        why_not,
        remarks: measures.remarks,
    }
}

/// What was done of a stage, and what is left.
struct StageWork {
    hours: f64,
    done: f64,
    left: f64,
    /// Some of it has a quantity.
    measured: bool,
    /// Something without one is still to do.
    waits: bool,
    /// Quantity a crew-hour, of each stretch of work.
    speeds: Vec<f64>,
}

impl StageWork {
    fn of(state: &State, pieces: &[Piece], stretches: &[(&Stretch, &Worked)], now: Moment) -> Self {
        let worked = || stretches.iter().map(|(_, worked)| worked);
        let measurable = stretches.iter().filter(|(_, worked)| worked.hours > 0.0 && worked.quantity > 0.0);
        let speeds: BTreeMap<(usize, &BTreeSet<Moment>), f64> =
            measurable.map(|(at, worked)| ((at.day, &worked.recorded_at), worked.quantity / worked.hours)).collect();
        Self {
            hours: total(worked().map(|worked| worked.hours)),
            done: total(worked().map(|worked| worked.quantity)),
            left: total(pieces.iter().map(|piece| left_of(state, piece, now))),
            measured: pieces.iter().any(|piece| piece.quantity.is_some()),
            waits: pieces.iter().any(|piece| is_open(state, piece, now)),
            speeds: speeds.into_values().collect(),
        }
    }

    /// The crew-hours left; `None` where no pace says.
    fn hours_left(&self) -> Option<Range> {
        match quartiles(&self.speeds) {
            _ if self.waits => None,
            _ if self.left == 0.0 => Some(Range { low: 0.0, high: 0.0 }),
            range => range.map(|range| Range { low: self.left / range.high, high: self.left / range.low }),
        }
    }

    fn pace(&self, stage: &Stage, unit: Option<Unit>) -> StagePace {
        let measured = self.measured;
        StagePace {
            stage: stage.key.clone(),
            title: stage.title.clone(),
            crew_hours: self.hours,
            unit: unit.filter(|_| measured),
            done: measured.then_some(self.done),
            left: measured.then_some(self.left),
            per_crew_hour: (measured && self.hours > 0.0).then(|| self.done / self.hours),
            stretches: self.speeds.len(),
            range: quartiles(&self.speeds),
            crew_hours_left: self.hours_left().filter(|_| measured),
        }
    }
}

/// "Cladding", "Cladding and Sealing", "Preparation, Cladding and Sealing".
fn all_of(titles: &[String]) -> String {
    match titles {
        [all @ .., last] if !all.is_empty() => format!("{} and {last}", all.join(", ")),
        _ => titles.concat(),
    }
}

/// A piece's share for each step that is not complete.
fn left_of(state: &State, piece: &Piece, now: Moment) -> f64 {
    let open = piece.steps.iter().filter(|step| !state.complete(**step, piece.subject, now)).count();
    piece.quantity.unwrap_or(0.0) * open as f64 / piece.steps.len().max(1) as f64
}

fn is_open(state: &State, piece: &Piece, now: Moment) -> bool {
    piece.quantity.is_none() && piece.steps.iter().any(|step| !state.complete(*step, piece.subject, now))
}

/// The crew-hours and the work done on days that are closed.
fn stretches(state: &State, by_stage: &Indexed<Stage, Vec<Piece>>, now: Moment) -> BTreeMap<Stretch, Worked> {
    let sequence = state.sequence();
    let mut share: BTreeMap<(StepIx, SubjectIx), f64> = BTreeMap::new();
    for piece in by_stage.iter().flatten() {
        let each = piece.quantity.unwrap_or(0.0) / piece.steps.len().max(1) as f64;
        share.extend(piece.steps.iter().map(|step| ((*step, piece.subject), each)));
    }
    let mut marks: Vec<Vec<Mark<(StageIx, String)>>> = vec![Vec::new(); state.days.len()];
    let mut stretches: BTreeMap<Stretch, Worked> = BTreeMap::new();
    for step in sequence.steps.indexes() {
        for subject in state.subjects.indexes() {
            for (place, done) in state.done(step, subject).iter().enumerate() {
                let Some(day) = done.day.filter(|day| state.days[*day].closed_at.is_some()) else { continue };
                let (stage, part) = (sequence.steps[step].stage, part_of(state, subject));
                let quantity = share.get(&(step, subject)).copied().filter(|_| place == 0).unwrap_or(0.0);
                marks[day].push(Mark { at: done.at, to: (stage, part.clone()), weight: quantity });
                let worked = stretches.entry(Stretch { stage, day, part }).or_default();
                worked.quantity += quantity;
                worked.recorded_at.insert(done.at);
            }
        }
    }
    let halts: Vec<Halt> = state.stoppages.iter().map(|stoppage| halt(stoppage, now)).collect();
    for (index, (day, marks)) in state.days.iter().zip(&marks).enumerate() {
        let Some(closed_at) = day.closed_at else { continue };
        let shifts = shifts(day, now);
        let given = day.hours.values().sum();
        let day = DayHours { opened_at: day.opened_at, closed_at, shifts: &shifts, halts: &halts, hours: given };
        for ((stage, part), share) in allot(&evened(marks), &day) {
            stretches.entry(Stretch { stage, day: index, part }).or_default().hours = share;
        }
    }
    stretches
}

/// Records of one moment share it equally among stages, and within a stage by quantity: square metres of one stage
/// and metres of another can't be weighed against each other.
fn evened(marks: &[Mark<(StageIx, String)>]) -> Vec<Mark<(StageIx, String)>> {
    let mut sums: BTreeMap<(Moment, StageIx), (f64, usize)> = BTreeMap::new();
    for mark in marks {
        let sum = sums.entry((mark.at, mark.to.0)).or_default();
        *sum = (sum.0 + mark.weight, sum.1 + 1);
    }
    let evened = |mark: &Mark<(StageIx, String)>| {
        let (sum, many) = sums.get(&(mark.at, mark.to.0)).copied().unwrap_or((0.0, 1));
        let weight = if sum > 0.0 { mark.weight / sum } else { 1.0 / many.max(1) as f64 };
        Mark { weight, ..mark.clone() }
    };
    marks.iter().map(evened).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn at_most_a_quarter_lies_beyond_either_quartile(speeds in proptest::collection::vec(0.01f64..100.0, 0..12)) {
            match quartiles(&speeds) {
                None => prop_assert!(speeds.len() < LEAST_STRETCHES),
                Some(range) => {
                    prop_assert!(range.low <= range.high);
                    let quarter = (speeds.len() - 1).div_ceil(4);
                    prop_assert!(speeds.iter().filter(|speed| **speed < range.low).count() <= quarter);
                    prop_assert!(speeds.iter().filter(|speed| **speed > range.high).count() <= quarter);
                }
            }
        }
    }
}
