//! Joints with their clocks and weather; seal plans and forecasts.

use crate::handover::model::{Document, WeatherTold, clock_on, when};
use crate::handover::page::{Block, Section, drawing_name, lines, table, text};
use crate::moment::span;
use crate::units::number::show;

/// The table of a wall's joints: clock and weather.
pub fn joints_of(document: &Document, part: &str) -> Option<Block> {
    let rows: Vec<Vec<String>> = document
        .joints
        .iter()
        .filter(|joint| joint.part == part)
        .map(|joint| {
            let day = &joint.primed_at;
            let closes = joint.closes_at.as_ref().map(|at| format!(" to {}", clock_on(at, day))).unwrap_or_default();
            let sun = match joint.in_sun {
                Some(true) => "in direct sun",
                Some(false) => "in shade",
                None => "",
            };
            let weather =
                |weather: &Option<WeatherTold>| weather.as_ref().map(WeatherTold::in_words).unwrap_or_default();
            vec![
                joint.subject.clone(),
                lines([when(day), weather(&joint.primed_in)]),
                format!("{}{closes}", clock_on(&joint.opens_at, day)),
                joint.gunned_at.as_ref().map(|at| clock_on(at, day)).unwrap_or_default(),
                joint.says.clone(),
                lines([weather(&joint.weather), sun.to_owned()]),
            ]
        })
        .collect();
    let columns =
        [("Joint", 3), ("Primed, in", 8), ("Window", 5), ("Gunned", 4), ("How it ended", 6), ("Sealed in", 8)];
    (!rows.is_empty())
        .then(|| table("Joints: the clock of each, and the weather it was primed and sealed in", &columns, rows, ""))
}

impl WeatherTold {
    /// "Surface 21 °C", how far it stands over the dew point, and how old the reading is: a line each.
    fn in_words(&self) -> String {
        lines([
            format!("Surface {} °C{}", show(self.surface_c), if self.rain { ", RAIN" } else { "" }),
            match self.dew_margin_c {
                Some(margin) if margin < 0.0 => format!("{} °C UNDER the dew point", show(-margin)),
                Some(margin) => format!("{} °C over the dew point", show(margin)),
                None => String::new(),
            },
            format!("Read {} ({})", age(self.age_min), self.reading),
        ])
    }
}

pub fn age(minutes: i64) -> String {
    let long = span(chrono::TimeDelta::minutes(minutes.abs()));
    match minutes {
        0 => "at the same time".to_owned(),
        m if m > 0 => format!("{long} before"),
        _ => format!("{long} after"),
    }
}

/// The plans and the forecasts, where there are any.
pub fn section(document: &Document) -> Option<Section> {
    if document.seal_plans.is_empty() && document.forecasts.is_empty() {
        return None;
    }
    let mut blocks = vec![text(
        "A plan says what was meant, a forecast what was foreseen; neither is evidence of what was done or of the weather. \
         What was done and read stands with each wall.",
    )];
    for (place, plan) in document.seal_plans.iter().enumerate() {
        blocks.push(text(format!(
            "Seal plan {}, kept {} (entry {}): {}.",
            place + 1,
            when(&plan.at),
            plan.entry,
            plan.says
        )));
        if !plan.svg.is_empty() {
            blocks.push(Block::Drawing { name: drawing_name(place) });
        }
        let mut people: Vec<&str> = plan.stints.iter().map(|stint| stint.person.as_str()).collect();
        people.sort_unstable();
        people.dedup();
        let rows = people
            .into_iter()
            .map(|person| {
                let own = plan.stints.iter().filter(|stint| stint.person == person);
                let said = own.map(|stint| format!("{} {}", stint.when, stint.what)).collect::<Vec<_>>();
                vec![person.to_owned(), said.join("\n")]
            })
            .collect();
        blocks.push(table("Timetable by person", &[("Who", 2), ("What", 8)], rows, "Nothing was planned."));
        blocks.push(text(format!("It rests on {}.", plan.basis.join("; "))));
        if !plan.left_out.is_empty() {
            blocks.push(text("Left out, not to be primed:"));
            let items = plan.left_out.iter().map(|left| crate::plain::visible(left)).collect();
            blocks.push(Block::List { items });
        }
    }
    let rows = document
        .forecasts
        .iter()
        .map(|forecast| {
            vec![when(&forecast.at), forecast.source.clone(), forecast.hours.clone(), forecast.entry.clone()]
        })
        .collect();
    let columns = [("Taken up", 3), ("Source", 4), ("Foreseen", 7), ("Entry", 3)];
    blocks.push(table("Forecasts: foreseen, not read", &columns, rows, "No forecast was taken up."));
    Some(Section { id: "sealing".to_owned(), title: "Seal plans and forecasts".to_owned(), blocks })
}
