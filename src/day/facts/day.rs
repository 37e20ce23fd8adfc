//! A site day.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use crate::moment::Moment;

/// A site day that nobody closed is over after this long: its crew and its cautions do not carry on.
const LONGEST: TimeDelta = TimeDelta::hours(18);

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
    /// When it ended: when it was closed; else, as far as `now`, when a day left open is over.
    pub fn until(&self, now: Moment) -> Moment {
        self.closed_at.unwrap_or_else(|| now.min(self.opened_at + LONGEST))
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
