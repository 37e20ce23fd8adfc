//! R7: site conditions, read and forecast.

use chrono::TimeDelta;

use super::context::{Context, DecideError, Decision, Request, input, of_kind};
use crate::building::SubjectKind;
use crate::conditions::forecast::Forecast;
use crate::form::check_name;
use crate::record::{AddForecast, Body, TakeReading};
use crate::units::bounds;

impl Request for TakeReading {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        bounds::AIR.check(self.air_c)?;
        bounds::HUMIDITY.check(self.humidity_pct)?;
        bounds::SURFACE.check(self.surface_c)?;
        self.wind_kmh.map(|wind| bounds::WIND.check(wind)).transpose()?;
        let state = context.state;
        let walls = of_kind(state, &self.subject, SubjectKind::Wall, "a reading is taken on a wall")?;
        let reading =
            |wall: usize| Body::ReadingTaken(Self { subject: state.subjects.get(wall).to_string(), ..self.clone() });
        Ok(walls.into_iter().map(reading).collect::<Vec<_>>().into())
    }
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
