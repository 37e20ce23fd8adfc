//! Joints with their time limits and weather; a seal plan in words.

use crate::handover::model::{Document, NearestReading, PlanOfDay, clock_on, when};
use crate::handover::page::{Table, lines, some, table};
use crate::moment::span;
use crate::units::number::show;

/// The table of joints: time limit and weather.
pub fn joints(document: &Document<'_>) -> Option<Table> {
    let joints = document.joints.iter().map(|joint| (joint, &document.windows[joint.window]));
    let weather = |nearest: &Option<NearestReading<'_>>| some(nearest.as_ref().map(in_words));
    table(
        "Joints: the time limit of each, and the weather it was primed and sealed in",
        joints,
        &[
            ("Joint", 3, &|(_, window)| window.subject.clone()),
            ("Primed, conditions", 8, &|(joint, window)| lines([when(&window.run.from.at), weather(&joint.primed_in)])),
            ("Allowed", 5, &|(_, window)| window.open_in_words(&window.run.from.at)),
            ("Gunned", 4, &|(_, window)| {
                some(window.run.answered.map(|done| {
                    let clock = |at| clock_on(at, &window.run.from.at);
                    match done.began < done.at {
                        true => format!("{} to {}", clock(&done.began), clock(&done.at)),
                        false => clock(&done.at),
                    }
                }))
            }),
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

/// "7 of 8 joints, Ana, Tom, finished by 15:40".
pub fn plan_in_words(plan: &PlanOfDay<'_>) -> String {
    let (plan, made) = (plan.plan, &plan.plan.timetable);
    let (sealed, left) = (made.joints.len(), made.left_out.len());
    let finish = some(made.finish_at.map(|at| format!(", finished by {}", clock_on(&at, &plan.at))));
    format!("{sealed} of {} joints, {}{finish}", sealed + left, plan.inputs.people.join(", "))
}
