//! What the stoppages of a job cost, by its site days.

use chrono::{NaiveDate, TimeDelta};

use super::idle::{Halt, Shift, stretch};
use crate::day::{Day, State, Stoppage};
use crate::moment::Moment;
use crate::record::EntryId;
use crate::table::{Cell, Column, Row};
use crate::units::number::total;

/// What stoppages cost.
#[derive(Debug, Clone)]
pub struct StoppageCost {
    /// Each stoppage with the crew-hours lost to it alone.
    pub each: Vec<StoppageRow>,
    /// Crew-hours lost in all; time that two of them share is counted once.
    pub total_h: f64,
}

/// A stoppage, and what it cost.
#[derive(Debug, Clone)]
pub struct StoppageRow {
    /// The stoppage.
    pub stoppage: Stoppage,
    /// Crew-hours lost to it alone.
    pub lost_h: f64,
}

impl Row for StoppageRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "id", title: "Entry", cell: |it| Cell::text(it.stoppage.entry.to_string()) },
        Column { key: "subject", title: "On", cell: |it| (&it.stoppage.subject).into() },
        Column { key: "started_at", title: "Stopped", cell: |it| it.stoppage.started_at.into() },
        Column { key: "ended_at", title: "Resumed", cell: |it| it.stoppage.ended_at.into() },
        Column { key: "cause", title: "Cause", cell: |it| (&it.stoppage.cause).into() },
        Column { key: "told", title: "Notified", cell: |it| it.stoppage.notified.clone().into() },
        Column { key: "people", title: "Idle", cell: |it| it.stoppage.people.into() },
        Column { key: "crew_hours_lost", title: "Crew-hours lost", cell: |it| it.lost_h.into() },
        Column { key: "note", title: "Note", cell: |it| it.stoppage.note.as_ref().into() },
        Column {
            key: "state",
            title: "State",
            cell: |it| if it.stoppage.ended_at.is_some() { "ended" } else { "open" }.into(),
        },
        Column { key: "by", title: "Recorded by", cell: |it| (&it.stoppage.by).into() },
        Column {
            key: "ended_by_entry",
            title: "Ended by entry",
            cell: |it| it.stoppage.ended_by.as_ref().map(EntryId::to_string).into(),
        },
    ];
}

/// The presence of each of a day's crew, as far as `now`.
pub fn shifts(day: &Day, now: Moment) -> Vec<Shift> {
    day.presence(now).map(|(from, until)| Shift { from, until }).collect()
}

/// Everybody on site in a stretch of time. Of two crews the days that overlap are one: two people who stand idle are two of
/// both crews together.
struct OnSite {
    from: Moment,
    until: Moment,
    shifts: Vec<Shift>,
}

/// Who was on site on some days, as far as `now`, in time.
fn on_site<'d>(days: impl Iterator<Item = &'d Day>, now: Moment) -> Vec<OnSite> {
    let mut each: Vec<OnSite> =
        days.map(|day| OnSite { from: day.opened_at, until: day.until(now), shifts: shifts(day, now) }).collect();
    each.sort_by_key(|one| one.from);
    let mut joined: Vec<OnSite> = Vec::new();
    for next in each {
        match joined.last_mut() {
            Some(last) if next.from < last.until => {
                last.until = last.until.max(next.until);
                last.shifts.extend(next.shifts);
            }
            _ => joined.push(next),
        }
    }
    joined
}

/// The crew-hours lost to these stoppages, as far as `now`.
///
/// Only time in which somebody was on site counts: a stoppage that runs over night costs nothing until the next
/// site day is opened.
pub fn stood(state: &State, wanted: impl Fn(&Stoppage) -> bool, now: Moment) -> StoppageCost {
    let stoppages: Vec<&Stoppage> = state.stoppages.iter().filter(|one| wanted(one)).collect();
    let mut each = vec![0.0; stoppages.len()];
    let mut total_h = 0.0;
    for OnSite { from, until, shifts } in on_site(state.days.iter(), now) {
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
        let sum = stretch(&shifts, &halts, from, until);
        total_h += sum.lost_h;
        for ((place, _), lost) in of_day.iter().zip(sum.each_h) {
            each[*place] += lost;
        }
    }
    let each = stoppages.into_iter().zip(each);
    StoppageCost { each: each.map(|(one, lost_h)| StoppageRow { stoppage: one.clone(), lost_h }).collect(), total_h }
}

/// The crew-hours lost on the site days of one date, as far as `now`; time that two stoppages share counts once.
pub fn lost_on(state: &State, date: NaiveDate, now: Moment) -> f64 {
    let halts: Vec<Halt> = state.stoppages.iter().map(|one| halt(one, now)).collect();
    let of_date = state.days.iter().filter(|day| day.date == date);
    let lost = on_site(of_date, now).into_iter().map(|day| stretch(&day.shifts, &halts, day.from, day.until).lost_h);
    total(lost)
}

/// A stoppage as a halt; one that is still open runs to `now`.
pub(super) fn halt(stoppage: &Stoppage, now: Moment) -> Halt {
    // To the minute, as people read it: three of them for 45 minutes are 2.25 h.
    let minute =
        |at: Moment| at.checked_add(-TimeDelta::seconds((at.unix_seconds() as i64).rem_euclid(60))).unwrap_or(at);
    let (from, until) = (minute(stoppage.started_at), minute(stoppage.ended_at.unwrap_or(now)));
    Halt { from, until, people: stoppage.people }
}
