//! Hours worked, from the closings of the site days.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde::Serialize;

use crate::day::State;

/// One person's hours on one site day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worked {
    /// The date of the day.
    pub date: NaiveDate,
    /// Who.
    pub person: String,
    /// Hours.
    pub hours: f64,
}

/// Everybody's hours, day by day. A day that is not closed has none yet.
pub fn worked(state: &State) -> Vec<Worked> {
    let of_day = |day: &crate::day::Day| {
        let date = day.date;
        day.hours
            .iter()
            .map(move |(person, hours)| Worked { date, person: person.clone(), hours: *hours })
            .collect::<Vec<_>>()
    };
    state.days.iter().flat_map(of_day).collect()
}

/// The dates of days that are not closed: their hours are missing from every sum.
pub fn unclosed(state: &State) -> Vec<NaiveDate> {
    state.days.iter().filter(|day| day.closed_at.is_none()).map(|day| day.date).collect()
}

/// What hours are gathered by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// By day.
    Day,
    /// By week, as ISO 8601 counts them: Monday first.
    Week,
    /// By person.
    Person,
}

/// Hours gathered, in order: the day, the week (`2026-W10`) or the name, and the hours.
pub fn gathered(worked: &[Worked], by: By) -> Vec<(String, f64)> {
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for one in worked {
        let key = match by {
            By::Day => one.date.to_string(),
            By::Week => {
                let week = one.date.iso_week();
                format!("{:04}-W{:02}", week.year(), week.week())
            }
            By::Person => one.person.clone(),
        };
        *sums.entry(key).or_default() += one.hours;
    }
    sums.into_iter().collect()
}
