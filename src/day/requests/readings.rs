//! R7: site conditions, read and forecast.

use chrono::TimeDelta;

use super::context::{Context, DecideError, Decision, Request, input};
use crate::building::{Subject, SubjectIx};
use crate::conditions::beaufort;
use crate::conditions::forecast::Forecast;
use crate::form::check_name;
use crate::record::{AddForecast, Body, TakeReading};
use crate::units::bounds;

impl Request for TakeReading {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        // A force stands for the middle of its range, and the record says so.
        let wind_kmh = self.beaufort.map_or(self.wind_kmh, |force| Some(beaufort::middle_kmh(force)));
        let values = [
            (self.air_c, bounds::AIR),
            (self.humidity_pct, bounds::HUMIDITY),
            (self.surface_c, bounds::SURFACE),
            (wind_kmh, bounds::WIND),
        ];
        values.iter().try_for_each(|(value, bounds)| value.map_or(Ok(()), |value| bounds.check(value).map(|_| ())))?;
        if values.iter().all(|(value, _)| value.is_none()) && !self.rain && !self.dry {
            return input("a reading says what was read: air, humidity, surface, wind or its force, rain or dry");
        }
        let state = context.state;
        let is_read_on = |index: &SubjectIx| matches!(state.subjects.get(*index), Subject::Wall(_) | Subject::Job);
        let on = state.subjects.parse(&self.subject)?;
        if let Some(other) = on.iter().find(|index| !is_read_on(index)).map(|index| state.subjects.get(*index)) {
            return input(format!("{other} is {}: a reading is taken on a wall, or on the job", other.kind().a_word()));
        }
        let reading = |index: SubjectIx| {
            let subject = state.subjects.get(index).to_string();
            Body::ReadingTaken(Self { subject, wind_kmh, dry: false, ..self.clone() })
        };
        Ok(on.into_iter().map(reading).collect::<Vec<_>>().into())
    }
}

/// What was read in one go on some walls, as the record takes it: the wind once for the site, and with it whether it
/// rains; all else on its walls, on each with its own surface.
pub fn readings_by_place(read: &TakeReading, walls: &[(String, Option<f64>)]) -> Vec<TakeReading> {
    let has_wind = read.wind_kmh.is_some() || read.beaufort.is_some();
    let on_walls = read.air_c.is_some() || read.humidity_pct.is_some() || walls.iter().any(|(_, it)| it.is_some());
    let of_site = TakeReading {
        subject: "job".to_owned(),
        wind_kmh: read.wind_kmh.filter(|_| read.beaufort.is_none()),
        beaufort: read.beaufort,
        rain: read.rain,
        dry: !has_wind && !read.rain,
        ..TakeReading::default()
    };
    let of_wall = |(wall, surface_c): &(String, Option<f64>)| TakeReading {
        subject: wall.clone(),
        surface_c: *surface_c,
        wind_kmh: None,
        beaufort: None,
        ..read.clone()
    };
    let of_site = (has_wind || !on_walls).then_some(of_site);
    of_site.into_iter().chain(walls.iter().filter(|_| on_walls).map(of_wall)).collect()
}

impl Request for AddForecast {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let forecast = Forecast::new(self.hours.clone()).map_err(|error| {
            DecideError::Input(match error.row {
                None => error.to_string(),
                Some(row) => format!("hour {row}: {error}"),
            })
        })?;
        let today = context.at.date();
        if let Some(last) = forecast.last().filter(|last| *last + TimeDelta::hours(1) <= context.at) {
            let (last, now) = (last.clock(today), context.at.clock(today));
            return input(format!("the forecast is past: its last hour begins {last}, it is {now} now"));
        }
        if let Some(source) = &self.source {
            check_name(source).map_err(|why| DecideError::Input(format!("the source {why}")))?;
        }
        Ok(Body::ForecastAdded(self.clone()).into())
    }
}
