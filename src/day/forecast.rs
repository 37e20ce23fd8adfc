//! The forecast in force, and until when it keeps a limit from holding. It satisfies no rule: readings do.

use chrono::TimeDelta;

use super::conditions::out_of;
use super::request::DecideError;
use super::state::{Reading, State};
use crate::conditions::forecast::{Forecast, Hour, Weather};
use crate::moment::Moment;
use crate::record::{Body, Entry};
use crate::sequence::Limit;

/// Times are foreseen to this grain.
const GRAIN_MIN: i64 = 5;
/// How far ahead a lead is told when a limit will hold again.
const AHEAD: TimeDelta = TimeDelta::hours(36);

/// A forecast that the record holds.
#[derive(Debug, Clone)]
pub struct Foreseen {
    /// Id of the entry.
    pub entry: String,
    /// When it was taken up.
    pub at: Moment,
    /// Where it comes from.
    pub source: Option<String>,
    /// What is foreseen.
    pub forecast: Forecast,
}

/// Why a limit does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trouble {
    /// Rain.
    Rain,
    /// Air or surface under the least.
    Cold,
    /// Air or surface over the most.
    Hot,
    /// Surface too little over the dew point.
    Dew,
    /// Humidity over the most.
    Humid,
    /// Wind over the most.
    Wind,
    /// The reading does not tell.
    Unread,
}

impl Trouble {
    /// In a few words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Rain => "rain",
            Self::Cold => "too cold",
            Self::Hot => "too hot",
            Self::Dew => "too near the dew point",
            Self::Humid => "too damp",
            Self::Wind => "too windy",
            Self::Unread => "not known",
        }
    }
}

/// The body of a forecast, once its hours pass and any of them is still to come.
pub(super) fn add(source: &Option<String>, hours: &[Hour], at: Moment) -> Result<Vec<Body>, DecideError> {
    let forecast = Forecast::new(hours.to_vec()).map_err(|error| DecideError::Input(in_row(error.row, &error)))?;
    if let Some(last) = forecast.last().filter(|last| *last + TimeDelta::hours(1) <= at) {
        return Err(DecideError::Input(format!(
            "the forecast is past: its last hour begins {}, it is {} now",
            last.clock(at.date()),
            at.clock(at.date())
        )));
    }
    if let Some(source) = source {
        crate::form::check_name(source).map_err(|why| DecideError::Input(format!("the source {why}")))?;
    }
    Ok(vec![Body::ForecastAdded { source: source.clone(), hours: hours.to_vec() }])
}

fn in_row(row: usize, what: &impl std::fmt::Display) -> String {
    if row == 0 { what.to_string() } else { format!("hour {row}: {what}") }
}

impl State {
    pub(super) fn take_forecast(&mut self, entry: &Entry, source: &Option<String>, hours: &[Hour]) {
        // Hours that no forecast can have were never taken by this program: nothing is foreseen by them.
        let Ok(forecast) = Forecast::new(hours.to_vec()) else { return };
        self.forecast = Some(Foreseen { entry: entry.id(), at: entry.happened_at, source: source.clone(), forecast });
    }

    /// Until when the forecast keeps a limit from holding, in words: "by the forecast too cold until about 09:40".
    ///
    /// `None` without a forecast for `now`, and where by it the limit holds now.
    pub fn foreseen_until(&self, limit: &Limit, now: Moment) -> Option<String> {
        let forecast = &self.forecast.as_ref()?.forecast;
        let mut troubles = troubles(limit, &forecast.at(now)?);
        if troubles.is_empty() {
            return None;
        }
        let mut at = grain_after(now);
        while at - now <= AHEAD {
            let Some(weather) = forecast.at(at) else { break };
            let still = self::troubles(limit, &weather);
            if still.is_empty() {
                return Some(format!("by the forecast {} until about {}", in_words(&troubles), at.clock(now.date())));
            }
            // What comes in its place keeps the lead waiting as well.
            troubles.extend(still.into_iter().filter(|trouble| !troubles.contains(trouble)).collect::<Vec<_>>());
            at += TimeDelta::minutes(GRAIN_MIN);
        }
        let end = at - TimeDelta::minutes(GRAIN_MIN);
        Some(format!("by the forecast {} until {} at least", in_words(&troubles), end.clock(now.date())))
    }
}

/// The next moment on the grain.
fn grain_after(now: Moment) -> Moment {
    let into = now.instant().timestamp().rem_euclid(GRAIN_MIN * 60);
    now + TimeDelta::seconds(GRAIN_MIN * 60 - into)
}

/// Why a limit does not hold in such weather; nothing when it does.
pub(super) fn troubles(limit: &Limit, weather: &Weather) -> Vec<Trouble> {
    let reading = Reading {
        entry: String::new(),
        at: Moment::default(),
        air_c: weather.air_c,
        humidity_pct: weather.humidity_pct,
        surface_c: weather.surface_c,
        wind_kmh: Some(weather.wind_kmh),
        rain: weather.rain,
    };
    let mut troubles: Vec<Trouble> = out_of(limit, &reading).into_iter().map(|out| out.trouble).collect();
    troubles.sort_unstable();
    troubles.dedup();
    troubles
}

pub(super) fn in_words(troubles: &[Trouble]) -> String {
    troubles.iter().map(|trouble| trouble.words()).collect::<Vec<_>>().join(" and ")
}
