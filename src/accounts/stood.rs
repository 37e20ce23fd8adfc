//! What the stoppages of a job cost, by its site days.

use chrono::NaiveDate;

use super::idle::{Halt, Shift, stretch};
use crate::day::{Day, State, Stoppage};
use crate::moment::Moment;

/// What stoppages cost.
#[derive(Debug, Clone)]
pub struct Stood<'s> {
    /// Each stoppage with the crew-hours lost to it alone.
    pub each: Vec<(&'s Stoppage, f64)>,
    /// Crew-hours lost in all; time that two of them share is counted once.
    pub total_h: f64,
}

/// The presence of each of a day's crew, as far as `now`: from joining to the end of the day.
pub fn shifts(day: &Day, now: Moment) -> Vec<Shift> {
    let until = day.until(now);
    day.crew.iter().map(|(_, since)| Shift { from: *since, until }).collect()
}

/// The crew-hours lost to these stoppages, as far as `now`.
///
/// Only time in which somebody was on site counts: a stoppage that runs over night costs nothing until the next
/// site day is opened. Who left before the day was closed is not in the record, so everybody counts to its end.
pub fn stood<'s>(state: &'s State, wanted: impl Fn(&Stoppage) -> bool, now: Moment) -> Stood<'s> {
    let stoppages: Vec<&Stoppage> = state.stoppages.iter().filter(|one| wanted(one)).collect();
    let mut each = vec![0.0; stoppages.len()];
    let mut total_h = 0.0;
    for day in &state.days {
        let (from, until) = (day.opened_at, day.until(now));
        let of_day: Vec<(usize, Halt)> = stoppages
            .iter()
            .enumerate()
            .map(|(place, one)| (place, halt(one, now)))
            .filter(|(_, halt)| halt.from < until && halt.until > from)
            .collect();
        if of_day.is_empty() {
            continue;
        }
        let halts: Vec<Halt> = of_day.iter().map(|(_, halt)| *halt).collect();
        let sum = stretch(&shifts(day, now), &halts, from, until);
        total_h += sum.lost_h;
        for ((place, _), lost) in of_day.iter().zip(sum.each_h) {
            each[*place] += lost;
        }
    }
    Stood { each: stoppages.into_iter().zip(each).collect(), total_h }
}

/// The crew-hours lost on the site days of one date, as far as `now`; time that two stoppages share counts once.
pub fn lost_on(state: &State, date: NaiveDate, now: Moment) -> f64 {
    let halts: Vec<Halt> = state.stoppages.iter().map(|one| halt(one, now)).collect();
    let of_date = state.days.iter().filter(|day| day.date == date);
    of_date.map(|day| stretch(&shifts(day, now), &halts, day.opened_at, day.until(now)).lost_h).sum::<f64>() + 0.0
}

/// A stoppage as a halt; one that is still open runs to `now`.
pub(super) fn halt(stoppage: &Stoppage, now: Moment) -> Halt {
    Halt { from: stoppage.started_at, until: stoppage.ended_at.unwrap_or(now), people: stoppage.people }
}
