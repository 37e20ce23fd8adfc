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
    /// Who is on site, and since when.
    pub crew: Vec<(String, Moment)>,
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

    /// Since when and until when each of its crew was on site, as far as `now`. Who left before the day was closed is not
    /// in the record: everybody counts to its end, but for a day that was closed only after it was over, the next morning
    /// say. Of that one the hours worked are all that is known.
    pub fn presence(&self, now: Moment) -> impl Iterator<Item = (Moment, Moment)> {
        let until = self.until(now);
        let closed_late = self.closed_at.is_some_and(|closed| closed > until);
        self.crew.iter().map(move |(name, since)| {
            let worked = self.hours.get(name).filter(|_| closed_late).and_then(|hours| hours_long(*hours));
            (*since, worked.map_or(until, |worked| until.min(*since + worked)))
        })
    }

    /// Whether it was open at a moment.
    pub fn is_open_at(&self, at: Moment) -> bool {
        self.opened_at <= at && at - self.opened_at <= LONGEST && self.closed_at.is_none_or(|closed| at < closed)
    }

    /// Whether it is the same day in another state of the job.
    pub fn is_same(&self, other: &Self) -> bool {
        (&self.device, self.opened_at) == (&other.device, other.opened_at)
    }

    /// Everybody whose hours or coming were recorded: the name, since when, and the hours worked. Whoever is only named
    /// at closing was there from the opening.
    pub fn people(&self) -> impl Iterator<Item = (&str, Moment, Option<f64>)> {
        let crew = self.crew.iter().map(|(name, since)| (name.as_str(), *since, self.hours.get(name).copied()));
        let others = self.hours.iter().filter(|(name, _)| self.crew.iter().all(|(known, _)| known != *name));
        crew.chain(others.map(|(name, hours)| (name.as_str(), self.opened_at, Some(*hours))))
    }

    /// Who was on site at a moment.
    pub fn crew_at(&self, at: Moment) -> impl Iterator<Item = &str> {
        self.crew.iter().filter(move |(_, since)| *since <= at).map(|(name, _)| name.as_str())
    }
}
