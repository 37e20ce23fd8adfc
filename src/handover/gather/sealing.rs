//! Every priming of every joint with its weather; the plans and forecasts that were kept.

use crate::conditions::dew;
use crate::conditions::shade::{Facing, day, offset_at_noon};
use crate::conditions::sun::Place;
use crate::day::{Book, PlannedTask, Reading, SealPlan, State};
use crate::handover::model::{
    ForecastTold, JointTold, SealPlanTold, StintTold, WeatherTold, WindowTold, clock_on, when,
};
use crate::moment::Moment;
use crate::record::{AddForecast, Body};
use crate::sealing::plan::{Labels, drawing};
use crate::units::number::show;
use crate::units::{Angle, Humidity, Temperature};

/// Every priming of every joint, in the order of the windows told.
pub fn joints(state: &State, windows: &[WindowTold]) -> Vec<JointTold> {
    let Some(sealing) = state.sequence().sealing() else { return Vec::new() };
    let key = &state.sequence().windows[sealing.window].key;
    let of = |window: &WindowTold| {
        let gunned = window.answered_at;
        JointTold {
            subject: window.subject.clone(),
            part: window.part.clone(),
            primed_at: window.began_at,
            opens_at: window.opens_at,
            closes_at: window.closes_at,
            gunned_at: gunned,
            state: window.state,
            says: window.says.clone(),
            primed_in: weather(state, &window.part, window.began_at),
            weather: gunned.and_then(|at| weather(state, &window.part, at)),
            in_sun: gunned.and_then(|at| in_sun(state, &window.part, at)),
        }
    };
    windows.iter().filter(|window| window.key == *key).map(of).collect()
}

pub fn weather(state: &State, wall: &str, at: Moment) -> Option<WeatherTold> {
    // What was read before says what it was sealed in; what was read afterwards only where there is nothing else.
    let readings = state.readings(state.subjects.index(wall)?);
    let nearest: &Reading = readings.iter().rev().find(|reading| reading.at <= at).or(readings.first())?;
    let (air, humidity) = (Temperature::celsius(nearest.air_c), Humidity::percent(nearest.humidity_pct));
    let margin = dew::dew_point(air, humidity).ok().map(|dew| nearest.surface_c - dew.as_celsius());
    Some(WeatherTold {
        reading: nearest.entry.to_string(),
        age_min: (at - nearest.at).num_minutes(),
        surface_c: nearest.surface_c,
        dew_margin_c: margin.map(|margin| (margin * 10.0).round() / 10.0),
        rain: nearest.rain,
    })
}

/// Whether a wall stands in direct sun, by its bearing and its own horizon.
pub fn in_sun(state: &State, wall: &str, at: Moment) -> Option<bool> {
    let wall = state.job.wall(wall)?;
    let degrees = |value: Option<f64>| value.map(Angle::degrees);
    let place = Place::new(degrees(state.job.latitude_deg)?, degrees(state.job.longitude_deg)?).ok()?;
    let facing = Facing::new(degrees(wall.bearing_deg)?).ok()?;
    let facing = match degrees(wall.horizon_deg) {
        Some(horizon) => facing.with_horizon(horizon).ok()?,
        None => facing,
    };
    let date = at.date();
    let sun = day(&place, date, offset_at_noon(date, state.job.time_zone), &[facing]).ok()?;
    Some(sun.walls.first()?.lit.iter().any(|lit| lit.from <= at && at < lit.to))
}

/// The forecasts that were taken up and not struck, in the order of the record.
pub fn forecasts(book: &Book) -> Vec<ForecastTold> {
    let told = |entry: &crate::record::Entry| {
        let Body::ForecastAdded(AddForecast { source, hours }) = &entry.body else { return None };
        let (first, last) = hours.first().zip(hours.last())?;
        let wet = hours.iter().filter(|hour| hour.rain).count();
        let (low, high) =
            hours.iter().fold((f64::MAX, f64::MIN), |(low, high), hour| (low.min(hour.air_c), high.max(hour.air_c)));
        Some(ForecastTold {
            entry: entry.id().to_string(),
            at: entry.happened_at,
            source: source.clone().unwrap_or_else(|| "not said".to_owned()),
            hours: format!(
                "{} to {}: air {} to {} °C, rain in {wet} of {} hours",
                when(&first.at),
                clock_on(&last.at, &first.at),
                show(low),
                show(high),
                hours.len()
            ),
        })
    };
    let counts = |entry: &&crate::record::Entry| !book.state.struck.contains_key(&entry.id());
    book.entries.iter().filter(counts).filter_map(told).collect()
}

/// The seal plans that were kept.
pub fn plans(state: &State, made_at: Moment) -> Vec<SealPlanTold> {
    state.seal_plans.iter().map(|plan| told_plan(state, plan, made_at)).collect()
}

pub fn told_plan(state: &State, plan: &SealPlan, made_at: Moment) -> SealPlanTold {
    let things = state.planned_tasks(plan, made_at).unwrap_or_default();
    let stint = |thing: &PlannedTask| StintTold {
        person: thing.person.clone(),
        when: format!("{} to {}", thing.at.format("%H:%M"), thing.until.format("%H:%M")),
        what: thing.doing(),
    };
    let (sealed, left) = (plan.timetable.joints.len(), plan.timetable.left_out.len());
    let finish =
        plan.timetable.finish_at.map(|at| format!(", finished by {}", clock_on(&at, &plan.at))).unwrap_or_default();
    let people = &plan.inputs.people;
    let svg = plan.drawn().map(|(day, made)| {
        let labels = Labels { people, sun: "Sun on", shut: "sun, or out of limits" };
        drawing(&day, &made, &labels)
    });
    SealPlanTold {
        entry: plan.entry.to_string(),
        at: plan.at,
        says: format!("{sealed} of {} joints, {}{finish}", sealed + left, people.join(", ")),
        stints: things.iter().map(stint).collect(),
        basis: plan.inputs.basis.clone(),
        left_out: plan.timetable.left_out.iter().map(|left| format!("{}: {}", left.id, left.why)).collect(),
        svg: svg.unwrap_or_default(),
    }
}
