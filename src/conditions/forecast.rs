//! A weather forecast, hour by hour, and what it says between the hours.
//!
//! A forecast is kept apart from readings: it says when to come back with a thermometer, and a day can be planned by it.
//! It never satisfies a rule.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use crate::form::InRow;
use crate::moment::Moment;
use crate::units::{Bounds, OutOfRange, bounds};

/// The most hours that are taken: 16 days. No forecast reaches further.
pub const MOST_HOURS: usize = 384;
/// Rain in an hour.
const RAIN: Bounds = Bounds { what: "rain", unit: "mm", least: 0.0, most: 500.0 };

/// The forecast for one hour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hour {
    /// When the hour begins.
    pub at: Moment,
    /// Air in the shade, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface of the walls, °C, where the forecast gives one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surface_c: Option<f64>,
    /// Wind, km/h.
    pub wind_kmh: f64,
    /// Whether it rains within the hour.
    pub rain: bool,
    /// How much, mm, where the forecast gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rain_mm: Option<f64>,
}

/// A forecast that passed every check: hours without a gap, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    hours: Vec<Hour>,
}

/// The forecast weather at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C: the forecast's own, or else the air.
    pub surface_c: f64,
    /// Whether the surface is the forecast's own.
    pub surface_given: bool,
    /// Wind, km/h.
    pub wind_kmh: f64,
    /// Rain.
    pub rain: bool,
}

/// What is wrong with a forecast; a row is an hour.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum ForecastError {
    #[error("the forecast has no hours")]
    Empty,
    #[error("{0} hours are more than a forecast is good for: {MOST_HOURS} is the most")]
    TooMany(usize),
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("{0} is outside the years 1970 to 8999")]
    Year(String),
    #[error("{0} is given twice")]
    Twice(String),
    #[error("{at} comes after {before}: the hours go forward, one after the other")]
    Backwards { at: String, before: String },
    #[error("{at} comes {apart} min after {before}: there is one row for every hour, without a gap")]
    Gap { at: String, before: String, apart: i64 },
    #[error("says no rain but gives {0} mm")]
    RainTwoWays(f64),
}

impl Forecast {
    /// Checks the hours of a forecast: at least one, each exactly an hour after the one before, every value possible.
    ///
    /// # Errors
    /// The first [`ForecastError`], with its row.
    pub fn new(hours: Vec<Hour>) -> Result<Self, InRow<ForecastError>> {
        if hours.is_empty() {
            return Err(InRow::whole(ForecastError::Empty));
        }
        if hours.len() > MOST_HOURS {
            return Err(InRow::whole(ForecastError::TooMany(hours.len())));
        }
        for (place, hour) in hours.iter().enumerate() {
            let before = place.checked_sub(1).and_then(|before| hours.get(before));
            check(hour, before).map_err(|error| InRow::of(place + 1, error))?;
        }
        Ok(Self { hours })
    }

    /// The hours, in order.
    pub fn hours(&self) -> &[Hour] {
        &self.hours
    }

    /// When the last hour begins: nothing is known after it.
    pub fn last(&self) -> Option<Moment> {
        self.hours.last().map(|hour| hour.at)
    }

    /// The weather at a moment: interpolated between the hours, rain for the whole of an hour that has any.
    ///
    /// `None` before the first hour and after the last one begins. Where an hour on either side gives no surface, the
    /// air temperature is used: right under cloud, too low in the sun, and too high on a clear night, when a wall is colder
    /// than the air and wet sooner than this says.
    pub fn at(&self, moment: Moment) -> Option<Weather> {
        let after = self.hours.partition_point(|hour| hour.at <= moment);
        let from = self.hours.get(after.checked_sub(1)?)?;
        // The last hour is known at its beginning only.
        let to = match self.hours.get(after) {
            Some(to) => to,
            None if from.at == moment => from,
            None => return None,
        };
        let share = (moment - from.at).num_seconds() as f64 / 3600.0;
        let between = |a: f64, b: f64| a + (b - a) * share;
        let air_c = between(from.air_c, to.air_c);
        let surface = from.surface_c.zip(to.surface_c).map(|(a, b)| between(a, b));
        Some(Weather {
            air_c,
            humidity_pct: between(from.humidity_pct, to.humidity_pct),
            surface_c: surface.unwrap_or(air_c),
            surface_given: surface.is_some(),
            wind_kmh: between(from.wind_kmh, to.wind_kmh),
            rain: from.rain,
        })
    }

    /// When it is to rain, hours that follow each other as one stretch.
    pub fn rain(&self) -> Vec<(Moment, Moment)> {
        let mut spans: Vec<(Moment, Moment)> = Vec::new();
        for hour in self.hours.iter().filter(|hour| hour.rain) {
            let end = hour.at + TimeDelta::hours(1);
            match spans.last_mut() {
                Some((_, to)) if *to == hour.at => *to = end,
                _ => spans.push((hour.at, end)),
            }
        }
        spans
    }
}

fn check(hour: &Hour, before: Option<&Hour>) -> Result<(), ForecastError> {
    if !hour.at.in_range() {
        return Err(ForecastError::Year(hour.at.to_string()));
    }
    if let Some(before) = before {
        let (apart, at, then) = (hour.at - before.at, hour.at.to_string(), before.at.to_string());
        if apart.is_zero() {
            return Err(ForecastError::Twice(at));
        }
        if apart < TimeDelta::zero() {
            return Err(ForecastError::Backwards { at, before: then });
        }
        if apart != TimeDelta::hours(1) {
            return Err(ForecastError::Gap { at, before: then, apart: apart.num_minutes() });
        }
    }
    bounds::AIR.check(hour.air_c)?;
    bounds::HUMIDITY.check(hour.humidity_pct)?;
    hour.surface_c.map(|surface| bounds::SURFACE.check(surface)).transpose()?;
    bounds::WIND.check(hour.wind_kmh)?;
    hour.rain_mm.map(|rain| RAIN.check(rain)).transpose()?;
    match hour.rain_mm {
        Some(mm) if mm > 0.0 && !hour.rain => Err(ForecastError::RainTwoWays(mm)),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hour(at: &str, air_c: f64) -> Hour {
        let at = Moment::parse_from_rfc3339(at).unwrap();
        Hour { at, air_c, humidity_pct: 60.0, surface_c: None, wind_kmh: 10.0, rain: false, rain_mm: None }
    }

    fn said(hours: Vec<Hour>) -> (Option<usize>, String) {
        let error = Forecast::new(hours).unwrap_err();
        (error.row, error.to_string())
    }

    #[test]
    fn values_between_hours_are_interpolated() {
        let mut hours = vec![hour("2026-03-05T08:00:00+13:00", 3.0), hour("2026-03-05T09:00:00+13:00", 6.0)];
        let forecast = Forecast::new(hours.clone()).unwrap();
        let at = |text: &str| forecast.at(Moment::parse_from_rfc3339(text).unwrap());
        let weather = at("2026-03-05T08:40:00+13:00").unwrap();
        assert!((weather.air_c - 5.0).abs() < 1e-12 && weather.surface_c == weather.air_c && !weather.surface_given);
        assert_eq!(at("2026-03-05T07:59:00+13:00"), None);
        assert_eq!(at("2026-03-05T09:00:00+13:00").unwrap().air_c, 6.0);
        assert_eq!(at("2026-03-05T09:01:00+13:00"), None);
        // A surface counts only where both hours give one.
        hours[0].surface_c = Some(8.0);
        assert!(!Forecast::new(hours).unwrap().at(weather_time()).unwrap().surface_given);
    }

    fn weather_time() -> Moment {
        Moment::parse_from_rfc3339("2026-03-05T08:30:00+13:00").unwrap()
    }

    #[test]
    fn hours_of_rain_that_touch_are_one() {
        let mut hours: Vec<Hour> =
            (8..14).map(|clock| hour(&format!("2026-03-05T{clock:02}:00:00+13:00"), 12.0)).collect();
        for wet in [1, 2, 5] {
            hours[wet].rain = true;
        }
        let rain = Forecast::new(hours).unwrap().rain();
        let clock: Vec<String> =
            rain.iter().map(|(from, to)| format!("{} {}", from.format("%H:%M"), to.format("%H:%M"))).collect();
        assert_eq!(clock, ["09:00 11:00", "13:00 14:00"]);
    }

    #[test]
    fn what_is_not_a_forecast_is_named_with_its_row() {
        let eight = || hour("2026-03-05T08:00:00+13:00", 3.0);
        assert_eq!(said(vec![]), (None, "the forecast has no hours".into()));
        assert_eq!(said(vec![eight(), eight()]), (Some(2), "2026-03-05T08:00:00+13:00 is given twice".into()));
        assert_eq!(
            said(vec![eight(), hour("2026-03-05T07:00:00+13:00", 3.0)]),
            (
                Some(2),
                "2026-03-05T07:00:00+13:00 comes after 2026-03-05T08:00:00+13:00: the hours go forward, one after the \
                 other"
                    .into()
            )
        );
        assert_eq!(
            said(vec![eight(), hour("2026-03-05T10:00:00+13:00", 3.0)]),
            (
                Some(2),
                "2026-03-05T10:00:00+13:00 comes 120 min after 2026-03-05T08:00:00+13:00: there is one row for every \
                 hour, without a gap"
                    .into()
            )
        );
        assert_eq!(
            said(vec![Hour { humidity_pct: 130.0, ..eight() }]).1,
            "humidity 130 % must be above 0 and at most 100 %"
        );
        assert_eq!(
            said(vec![hour("2026-03-05T08:00:00+13:00", -273.15)]).1,
            "air temperature -273.15 °C is outside -60 to 60 °C"
        );
        assert_eq!(said(vec![Hour { rain_mm: Some(0.4), ..eight() }]).1, "says no rain but gives 0.4 mm");
    }

    proptest::proptest! {
        /// A value between two hours lies between theirs.
        #[test]
        fn a_value_lies_between_its_two_hours(a in -20.0f64..35.0, b in -20.0f64..35.0, minute in 0i64..=60) {
            let forecast = Forecast::new(vec![
                hour("2026-03-05T08:00:00+13:00", a),
                hour("2026-03-05T09:00:00+13:00", b),
            ])
            .unwrap();
            let at = forecast.hours()[0].at + TimeDelta::minutes(minute);
            let air = forecast.at(at).unwrap().air_c;
            proptest::prop_assert!(air >= a.min(b) - 1e-9 && air <= a.max(b) + 1e-9);
        }
    }
}
