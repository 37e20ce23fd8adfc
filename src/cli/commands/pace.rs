//! `cladlog pace`: what a crew-hour does, by stage, and how many days are left.

use clap::Args;

use crate::accounts;
use crate::accounts::pace::{Pace, StagePace};
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;

/// Show how much gets done per crew-hour, by stage, and how many days are left
#[derive(Debug, Args)]
pub struct PaceArgs {
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &PaceArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let pace = accounts::pace(&opened.book.state, opened.now);
    if args.csv.write(&csv(&pace), out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&pace);
    }
    if pace.stages.is_empty() {
        out.line("Nothing is left to do, and no closed day has steps in it.")?;
    } else {
        let mut rows: Vec<Vec<String>> = pace.stages.iter().map(row).collect();
        let mut heading = vec!["Stage", "Crew-h", "Done", "A crew-hour", "Usually", "Left", "Crew-h left"];
        if pace.stages.iter().all(|stage| stage.left.is_none_or(|left| left == 0.0)) {
            heading.truncate(5);
            rows.iter_mut().for_each(|row| row.truncate(5));
        }
        out.table(&heading, &rows)?;
    }
    for line in lines(&pace) {
        out.wrapped(&line, 2)?;
    }
    Ok(())
}

/// What stands under the table.
pub fn lines(pace: &Pace) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(a_day) = pace.crew_hours_a_day {
        lines.push(format!(
            "{} crew-hours on {} closed day{}, {} a day; {} lost to stoppages.",
            tenth(pace.crew_hours),
            pace.days,
            if pace.days == 1 { "" } else { "s" },
            tenth(a_day),
            tenth(pace.crew_hours_lost)
        ));
    }
    let days = pace.in_words();
    lines.push(format!("{}{}.", days[..1].to_uppercase(), &days[1..]));
    lines.extend(pace.remarks.iter().cloned());
    lines
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

/// A stage's row: title, hours, done, pace, its range, left, hours left.
pub fn row(stage: &StagePace) -> Vec<String> {
    let with = |value: Option<f64>| match (value, stage.unit) {
        // Openings and corners are counted, not measured.
        (Some(value), Some(unit)) if value.fract() == 0.0 && unit.sign() == "each" => format!("{value:.0}"),
        (Some(value), Some(unit)) => format!("{} {}", tenth(value), unit.sign()),
        _ => String::new(),
    };
    let speed = stage.per_crew_hour.map(|speed| format!("{speed:.2}")).unwrap_or_default();
    let range = stage.range.map(|range| format!("{:.2}–{:.2}", range.low, range.high)).unwrap_or_default();
    let left = match (&stage.crew_hours_left, stage.left) {
        (Some(range), _) if range.high > 0.0 => range.tenths(),
        (None, Some(left)) if left > 0.0 => "?".to_owned(),
        _ => String::new(),
    };
    let hours = if stage.crew_hours > 0.0 { tenth(stage.crew_hours) } else { String::new() };
    vec![stage.title.clone(), hours, with(stage.done), speed, range, with(stage.left), left]
}

fn csv(pace: &Pace) -> Vec<Vec<String>> {
    let heading = [
        "stage",
        "title",
        "crew_hours",
        "unit",
        "done",
        "left",
        "per_crew_hour",
        "stretches",
        "slow",
        "fast",
        "crew_hours_left_low",
        "crew_hours_left_high",
    ];
    let number = |value: Option<f64>| value.map(crate::units::number::show).unwrap_or_default();
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(pace.stages.iter().map(|stage| {
        vec![
            stage.stage.clone(),
            stage.title.clone(),
            number(Some(stage.crew_hours)),
            stage.unit.map(|unit| unit.to_string()).unwrap_or_default(),
            number(stage.done),
            number(stage.left),
            number(stage.per_crew_hour),
            stage.stretches.to_string(),
            number(stage.range.map(|range| range.low)),
            number(stage.range.map(|range| range.high)),
            number(stage.crew_hours_left.map(|range| range.low)),
            number(stage.crew_hours_left.map(|range| range.high)),
        ]
    }));
    rows
}
