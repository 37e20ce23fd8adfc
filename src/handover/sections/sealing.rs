//! Joints with their time limits and weather; seal plans and forecasts.

use crate::handover::model::paths::seal_plan_drawing;
use crate::handover::model::{Document, NearestReading, PlanOfDay, clock_on, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table, table_or, text};
use crate::moment::span;
use crate::record::{AddForecast, Body, Entry};
use crate::units::number::show;

/// The table of a wall's joints: time limit and weather.
pub fn joints_of(document: &Document<'_>, part: &str) -> Option<Block> {
    let joints = document.joints.iter().map(|joint| (joint, &document.windows[joint.window]));
    let weather = |nearest: &Option<NearestReading<'_>>| some(nearest.as_ref().map(in_words));
    table(
        "Joints: the time limit of each, and the weather it was primed and sealed in",
        joints.filter(|(_, window)| window.part == part),
        &[
            ("Joint", 3, &|(_, window)| window.subject.clone()),
            ("Primed, conditions", 8, &|(joint, window)| lines([when(&window.run.from.at), weather(&joint.primed_in)])),
            ("Window", 5, &|(_, window)| {
                let day = &window.run.from.at;
                let closes = window.run.closes_at.map(|at| format!(" to {}", clock_on(&at, day)));
                format!("{}{}", clock_on(&window.run.opens_at, day), some(closes))
            }),
            ("Gunned", 4, &|(_, window)| some(window.run.answered.map(|done| clock_on(&done.at, &window.run.from.at)))),
            ("Result", 6, &|(_, window)| window.says.clone()),
            ("Conditions when gunned", 8, &|(joint, _)| {
                let sun = joint.in_sun.map(|sun| if sun { "in direct sun" } else { "in shade" });
                lines([weather(&joint.gunned_in), some(sun)])
            }),
        ],
    )
}

/// Surface, how far it is over the dew point, and how old the reading is: a line each.
fn in_words(nearest: &NearestReading<'_>) -> String {
    let reading = nearest.reading;
    let rain = if reading.rain { ", RAIN" } else { "" };
    let age = span(chrono::TimeDelta::minutes(nearest.age_min.abs()));
    let age = match nearest.age_min {
        0 => "at the same time".to_owned(),
        1.. => format!("{age} before"),
        _ => format!("{age} after"),
    };
    lines([
        reading
            .surface_c
            .map_or_else(|| reading.in_words("RAIN"), |surface| format!("Surface {} °C{rain}", show(surface))),
        some(nearest.dew_margin_c().map(|margin| match margin < 0.0 {
            true => format!("{} °C UNDER the dew point", show(-margin)),
            false => format!("{} °C over the dew point", show(margin)),
        })),
        format!("Read {age} ({})", reading.entry),
    ])
}

/// The plans and the forecasts, where there are any.
pub fn plans_and_forecasts(document: &Document<'_>) -> Option<Section> {
    let struck = &document.state().struck;
    let forecasts = document.book.entries.iter().filter(|entry| !struck.contains_key(&entry.id()));
    let forecasts: Vec<(&Entry, &AddForecast)> = forecasts
        .filter_map(|entry| match &entry.body {
            Body::ForecastAdded(forecast) if !forecast.hours.is_empty() => Some((entry, forecast)),
            _ => None,
        })
        .collect();
    if document.seal_plans.is_empty() && forecasts.is_empty() {
        return None;
    }
    let mut blocks = vec![text(
        "A plan is what was intended, a forecast what was expected; neither is evidence of what was done or of the \
         weather. What was done and measured is listed with each wall.",
    )];
    for (place, plan) in document.seal_plans.iter().enumerate() {
        blocks.extend(plan_blocks(place, plan));
    }
    blocks.push(table_or(
        "No forecast was added.",
        "Forecasts: expected, not measured",
        forecasts,
        &[
            ("Added", 3, &|(entry, _)| when(&entry.happened_at)),
            ("Source", 4, &|(_, forecast)| forecast.source.clone().unwrap_or_else(|| "not given".to_owned())),
            ("Forecast", 7, &|(_, forecast)| forecast_in_words(forecast)),
            ("Entry", 3, &|(entry, _)| entry.id().to_string()),
        ],
    ));
    Some(section("sealing", "Seal plans and forecasts", blocks))
}

fn forecast_in_words(forecast: &AddForecast) -> String {
    let hours = &forecast.hours;
    let Some((first, last)) = hours.first().zip(hours.last()) else { return String::new() };
    let wet = hours.iter().filter(|hour| hour.rain).count();
    let low = hours.iter().map(|hour| hour.air_c).fold(f64::MAX, f64::min);
    let high = hours.iter().map(|hour| hour.air_c).fold(f64::MIN, f64::max);
    format!(
        "{} to {}: air {} to {} °C, rain in {wet} of {} hours",
        when(&first.at),
        clock_on(&last.at, &first.at),
        show(low),
        show(high),
        hours.len()
    )
}

/// "7 of 8 joints, Ana, Tom, finished by 15:40".
pub fn plan_in_words(plan: &PlanOfDay<'_>) -> String {
    let (plan, made) = (plan.plan, &plan.plan.timetable);
    let (sealed, left) = (made.joints.len(), made.left_out.len());
    let finish = some(made.finish_at.map(|at| format!(", finished by {}", clock_on(&at, &plan.at))));
    format!("{sealed} of {} joints, {}{finish}", sealed + left, plan.inputs.people.join(", "))
}

fn plan_blocks(place: usize, planned: &PlanOfDay<'_>) -> Vec<Block> {
    let plan = planned.plan;
    let (number, at, entry) = (place + 1, when(&plan.at), &plan.entry);
    let mut blocks = vec![text(format!("Seal plan {number}, saved {at} (entry {entry}): {}.", plan_in_words(planned)))];
    if planned.svg.is_some() {
        blocks.push(Block::Drawing { file: seal_plan_drawing(place) });
    }
    let mut people: Vec<&str> = planned.tasks.iter().map(|task| task.person.as_str()).collect();
    people.sort_unstable();
    people.dedup();
    let tasks_of = |person: &str| {
        let own = planned.tasks.iter().filter(|task| task.person == person);
        let line = |task: &crate::day::PlannedTask| {
            format!("{} to {} {}", task.at.format("%H:%M"), task.until.format("%H:%M"), task.doing())
        };
        own.map(line).collect::<Vec<_>>().join("\n")
    };
    blocks.push(table_or(
        "Nothing was planned.",
        "Timetable by person",
        people,
        &[("Who", 2, &|person| (*person).to_owned()), ("What", 8, &|person| tasks_of(person))],
    ));
    blocks.push(text(format!("Basis: {}.", plan.inputs.basis.join("; "))));
    if let Some(left_out) = list(plan.timetable.left_out.iter().map(|left| format!("{}: {}", left.id, left.why))) {
        blocks.push(text("Left out, not to be primed:"));
        blocks.push(left_out);
    }
    blocks
}
