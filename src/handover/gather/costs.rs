//! Stoppages, extra work, quantities and pace.

use crate::accounts::pace::Pace;
use crate::accounts::{Period, claim, pace, stood};
use crate::day::{Book, ExtraWork, State, Stoppage};
use crate::handover::model::{Costs, ExtraTold, QuantityTold, StoppageTold};
use crate::moment::Moment;

impl Costs {
    /// What a job took as far as a moment.
    pub(crate) fn of(book: &Book, now: Moment) -> Self {
        let state = &book.state;
        let sum = stood(state, |_| true, now);
        // A record that was replayed once is replayed again.
        let lines = claim(book, &[], Period::default(), now).map(|claim| claim.lines).unwrap_or_default();
        Self {
            stoppages: sum.each.iter().map(|(one, lost)| stoppage(one, *lost)).collect(),
            crew_hours_lost: sum.total_h,
            extras: state.extras.iter().map(extra).collect(),
            quantities: lines
                .into_iter()
                .map(|line| QuantityTold {
                    part: line.part,
                    stage: line.stage,
                    title: line.title,
                    unit: line.unit,
                    whole: line.whole,
                    complete: line.so_far,
                })
                .collect(),
            pace: rounded(state, now),
        }
    }
}

pub fn stoppage(one: &Stoppage, lost: f64) -> StoppageTold {
    StoppageTold {
        entry: one.entry.to_string(),
        subject: one.subject.clone(),
        cause: one.cause.clone(),
        told: one.notified.clone(),
        people: one.people,
        started_at: one.started_at,
        ended_at: one.ended_at,
        crew_hours_lost: hundredth(lost),
        note: one.note.clone(),
    }
}

pub fn extra(one: &ExtraWork) -> ExtraTold {
    ExtraTold {
        entry: one.entry.to_string(),
        subject: one.subject.clone(),
        at: one.at,
        what: one.what.clone(),
        asked_by: one.asked_by.clone(),
        told: one.notified.clone(),
        size: one.size(),
    }
}

/// A hundredth is as fine as hours are told, and the same on every machine.
pub fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

pub fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// The pace, its shares rounded.
pub fn rounded(state: &State, now: Moment) -> Pace {
    let mut pace = pace(state, now);
    let range = |range: &mut crate::accounts::pace::Range| {
        (range.low, range.high) = (hundredth(range.low), hundredth(range.high));
    };
    for stage in &mut pace.stages {
        stage.crew_hours = hundredth(stage.crew_hours);
        stage.per_crew_hour = stage.per_crew_hour.map(hundredth);
        // The quantities above add up rounded lines: to a tenth both say the same.
        stage.done = stage.done.map(tenth);
        stage.left = stage.left.map(tenth);
        stage.range.iter_mut().chain(stage.crew_hours_left.iter_mut()).for_each(range);
    }
    pace.crew_hours_lost = hundredth(pace.crew_hours_lost);
    pace.crew_hours_a_day = pace.crew_hours_a_day.map(hundredth);
    pace.days_left.iter_mut().for_each(range);
    pace
}
