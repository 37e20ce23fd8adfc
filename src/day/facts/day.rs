//! A site day.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use crate::moment::Moment;

/// A site day that nobody closed is over after this long: its crew and its cautions do not carry on.
const LONGEST: TimeDelta = TimeDelta::hours(18);

fn hours_long(hours: f64) -> Option<TimeDelta> {
    TimeDelta::try_seconds((hours * 3600.0) as i64)
}

/// A time that somebody was on site; whoever leaves and comes back has two of them.
#[derive(Debug, Clone, Serialize)]
pub struct Stay {
    /// Who.
    pub name: String,
    /// Since when.
    pub from: Moment,
    /// When they left, if that was before the day was closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<Moment>,
}

impl Stay {
    fn is_at(&self, at: Moment) -> bool {
        self.from <= at && self.until.is_none_or(|left| at < left)
    }
}

/// One person's site day.
#[derive(Debug, Clone, Copy)]
pub struct Attendance<'d> {
    /// Who.
    pub name: &'d str,
    /// When they first came.
    pub since: Moment,
    /// When they left, if that was before the day was closed.
    pub left_at: Option<Moment>,
    /// Hours worked, once the day is closed.
    pub hours: Option<f64>,
}

/// A site day.
#[derive(Debug, Clone, Serialize)]
pub struct Day {
    /// The device that opened it: of two crews each has its own.
    pub device: Arc<str>,
    /// Its date, by the site's clocks.
    pub date: NaiveDate,
    /// When it was opened.
    pub opened_at: Moment,
    /// When it was closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closed_at: Option<Moment>,
    /// Who was on site and when, in the order in which they came.
    pub crew: Vec<Stay>,
    /// What the pre-start talk was about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// Hazards of the day.
    pub hazards: Vec<String>,
    /// When each caution was acknowledged, by its key and the person.
    pub acknowledged: BTreeMap<String, BTreeMap<String, Moment>>,
    /// Hours worked, by person, when it was closed.
    pub hours: BTreeMap<String, f64>,
    /// Remark at closing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Day {
    /// When it ended, as far as `now`: when it was closed, and no later than a day left open is over.
    pub fn until(&self, now: Moment) -> Moment {
        self.closed_at.unwrap_or(now).min(self.opened_at + LONGEST)
    }

    /// Since when and until when each of its crew was on site, as far as `now`. Whoever did not leave before counts to its
    /// end, but for a day that was closed only after it was over, the next morning say. Of that one the hours worked are
    /// all that is known.
    pub fn presence(&self, now: Moment) -> impl Iterator<Item = (Moment, Moment)> {
        let until = self.until(now);
        let closed_late = self.closed_at.is_some_and(|closed| closed > until);
        self.crew.iter().map(move |stay| {
            let worked = self.hours.get(&stay.name).filter(|_| closed_late).and_then(|hours| hours_long(*hours));
            let worked = worked.map(|worked| stay.from + (worked - self.stayed(&stay.name)));
            (stay.from, stay.until.or(worked).map_or(until, |left| left.min(until)))
        })
    }

    /// How long somebody was on site, as far as they left again.
    fn stayed(&self, name: &str) -> TimeDelta {
        let stays = self.crew.iter().filter(|stay| stay.name == name);
        stays.filter_map(|stay| stay.until.map(|left| left - stay.from)).sum()
    }

    /// How long somebody was on site until a moment who was not there all day: they came later, were away, or have left.
    pub fn stayed_part(&self, name: &str, now: Moment) -> Option<TimeDelta> {
        let stays: Vec<&Stay> = self.crew.iter().filter(|stay| stay.name == name).collect();
        let all_day = match stays.as_slice() {
            [] => true,
            [only] => only.until.is_none() && only.from <= self.opened_at,
            _ => false,
        };
        (!all_day).then(|| stays.iter().map(|stay| stay.until.unwrap_or(now) - stay.from).sum())
    }

    /// People come onto site; those on site already stay as they are.
    pub(in crate::day) fn join(&mut self, names: &[String], at: Moment) {
        for name in names {
            if !self.is_on_site(name, at) {
                self.crew.push(Stay { name: name.clone(), from: at, until: None });
            }
        }
    }

    /// People leave the site.
    pub(in crate::day) fn leave(&mut self, names: &[String], at: Moment) {
        let there = self.crew.iter_mut().filter(|stay| stay.is_at(at) && names.contains(&stay.name));
        there.for_each(|stay| stay.until = Some(at));
    }

    /// Whether it was open at a moment.
    pub fn is_open_at(&self, at: Moment) -> bool {
        self.opened_at <= at && at - self.opened_at <= LONGEST && self.closed_at.is_none_or(|closed| at < closed)
    }

    /// Whether it is the same day in another state of the job.
    pub fn is_same(&self, other: &Self) -> bool {
        (&self.device, self.opened_at) == (&other.device, other.opened_at)
    }

    /// Everybody whose hours or coming were recorded, each once. Whoever is only named at closing was there from the
    /// opening.
    pub fn people(&self) -> impl Iterator<Item = Attendance<'_>> {
        let first = |(place, stay): &(usize, &Stay)| self.crew[..*place].iter().all(|before| before.name != stay.name);
        let crew = self.crew.iter().enumerate().filter(first).map(|(_, stay)| Attendance {
            name: &stay.name,
            since: stay.from,
            left_at: self.crew.iter().rfind(|last| last.name == stay.name).and_then(|last| last.until),
            hours: self.hours.get(&stay.name).copied(),
        });
        let others = self.hours.iter().filter(|(name, _)| self.crew.iter().all(|stay| stay.name != **name));
        let since = self.opened_at;
        crew.chain(others.map(move |(name, hours)| Attendance { name, since, left_at: None, hours: Some(*hours) }))
    }

    /// Who was on site at a moment.
    pub fn crew_at(&self, at: Moment) -> impl Iterator<Item = &str> {
        self.crew.iter().filter(move |stay| stay.is_at(at)).map(|stay| stay.name.as_str())
    }

    /// Whether somebody was on site at a moment.
    pub fn is_on_site(&self, name: &str, at: Moment) -> bool {
        self.crew_at(at).any(|there| there == name)
    }
}
