//! `cladlog pace`: what a crew-hour does, by stage, and how many days are left.

use clap::Args;

use crate::accounts;
use crate::accounts::pace::{Pace, StagePace};
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::table::Cell;
use crate::units::number::show;

/// Show how much gets done per crew-hour, by stage, and how many days are left
#[derive(Debug, Args)]
pub struct PaceArgs {
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &PaceArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let pace = accounts::pace(&opened.book.state, opened.now);
    if csv(&pace, &args.csv, out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&pace);
    }
    if pace.stages.is_empty() {
        out.line("Nothing is left to do, and no closed day has steps in it.")?;
    } else {
        let (rows, heading) = (pace.stages.iter().map(row), ["Stage", "Crew-h", "Done", "A crew-hour", "Usually"]);
        if pace.stages.iter().all(|stage| stage.left.is_none_or(|left| left == 0.0)) {
            out.table(heading, rows.map(|[stage, hours, done, pace, range, ..]| [stage, hours, done, pace, range]))?;
        } else {
            let [stage, hours, done, pace, range] = heading;
            out.table([stage, hours, done, pace, range, "Left", "Crew-h left"], rows)?;
        }
    }
    for line in lines(&pace) {
        out.wrapped(&line, 2)?;
    }
    Ok(())
}

/// What stands under the table.
fn lines(pace: &Pace) -> Vec<String> {
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
fn row(stage: &StagePace) -> [String; 7] {
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
    [stage.title.clone(), hours, with(stage.done), speed, range, with(stage.left), left]
}

fn csv(pace: &Pace, csv: &CsvTo, out: &mut Out) -> Result<bool, Failure> {
    let number = |value: Option<f64>| Cell::from(value.map(show));
    csv.columns(
        &pace.stages,
        &[
            ("stage", &|it| (&it.stage).into()),
            ("title", &|it| (&it.title).into()),
            ("crew_hours", &|it| number(Some(it.crew_hours))),
            ("unit", &|it| it.unit.map(|unit| unit.to_string()).into()),
            ("done", &|it| number(it.done)),
            ("left", &|it| number(it.left)),
            ("per_crew_hour", &|it| number(it.per_crew_hour)),
            ("stretches", &|it| Cell::text(it.stretches.to_string())),
            ("slow", &|it| number(it.range.map(|range| range.low))),
            ("fast", &|it| number(it.range.map(|range| range.high))),
            ("crew_hours_left_low", &|it| number(it.crew_hours_left.map(|range| range.low))),
            ("crew_hours_left_high", &|it| number(it.crew_hours_left.map(|range| range.high))),
        ],
        out,
    )
}
