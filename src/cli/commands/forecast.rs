//! `cladlog forecast`: what weather is foreseen, taken up from a file and shown.

use std::path::{Path, PathBuf};

use chrono_tz::Tz;
use clap::{Args, Subcommand};
use serde::Deserialize;

use crate::cli::failure::Failure;
use crate::cli::input::read_text;
use crate::cli::out::Out;
use crate::cli::site::{Site, print};
use crate::conditions::forecast::{Forecast, Hour};
use crate::form::{Columns, Row, Rows, read_rows};
use crate::moment::Moment;
use crate::record::AddForecast;
use crate::units::number::{shortened, show};

/// The weather forecast: for planning; it never satisfies a limit
#[derive(Debug, Subcommand)]
pub enum ForecastCommand {
    /// Add an hourly forecast; the last one added counts
    Add(AddArgs),
    /// Show the forecast in force
    Show,
}

#[derive(Debug, Args)]
#[command(after_help = "\
FILE.csv has a header row: at, air_c, humidity_pct, wind_kmh, and rain (yes or no) or rain_mm; surface_c may be \
there. FILE.json is a list of objects with the same keys. One row an hour, in order, without a gap; `at` is when \
the hour begins, as in 2026-03-05T07:00:00+13:00.")]
pub struct AddArgs {
    /// The forecast: CSV or JSON, one row an hour
    pub file: PathBuf,
    #[command(flatten)]
    forecast: AddForecast,
}

pub fn run(command: &ForecastCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        ForecastCommand::Add(args) => {
            let mut journal = site.journal()?;
            let hours = read(&args.file, journal.book().state.job.time_zone)?;
            let request = AddForecast { hours, ..args.forecast.clone() };
            let recorded = site.record_in(&mut journal, &[&request])?;
            print(&recorded, journal.book(), out)
        }
        ForecastCommand::Show => show_in_force(site, out),
    }
}

const COLUMNS: Columns =
    Columns { required: &["at", "air_c", "humidity_pct", "wind_kmh"], optional: &["surface_c", "rain", "rain_mm"] };

/// Reads and checks a forecast, so that an error has its place in the file.
fn read(file: &Path, zone: Tz) -> Result<Vec<Hour>, Failure> {
    let json = file.extension().is_some_and(|end| end.eq_ignore_ascii_case("json"));
    let (name, text) = (file.display().to_string(), read_text(file)?);
    let hours = match json {
        true => of_json(&name, &text, zone)?,
        false => {
            read_rows(&name, &text, &COLUMNS, |row| of_row(row, zone)).map_err(|m| Failure::input(m.join("\n")))?
        }
    };
    Forecast::new(hours.values.clone()).map_err(|error| match error.row {
        None => Failure::input(format!("{name}: {error}")),
        Some(_) => Failure::input(hours.mistake(&error)),
    })?;
    Ok(hours.values)
}

fn time(text: &str, zone: Tz) -> Result<Moment, String> {
    Moment::parse_from_rfc3339(text.trim())
        .map(|at| at.at_site(zone))
        .map_err(|_| format!("at: '{}' is not a full time, such as 2026-03-05T07:00:00+13:00", shortened(text)))
}

fn of_row(row: &Row<'_>, zone: Tz) -> Result<Hour, String> {
    let rain_mm = row.number_or_blank("rain_mm")?;
    let rain = match (row.text("rain").to_lowercase().as_str(), rain_mm) {
        ("yes" | "y" | "true" | "1", _) => true,
        ("no" | "n" | "false" | "0", _) => false,
        ("", Some(mm)) => mm > 0.0,
        ("", None) => return Err("rain is blank, and so is rain_mm: one of them is needed".into()),
        (other, _) => return Err(format!("rain: '{}' is neither yes nor no", shortened(other))),
    };
    Ok(Hour {
        at: time(row.text("at"), zone)?,
        air_c: row.number("air_c")?,
        humidity_pct: row.number("humidity_pct")?,
        surface_c: row.number_or_blank("surface_c")?,
        wind_kmh: row.number("wind_kmh")?,
        rain,
        rain_mm,
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct JsonHour {
    at: String,
    air_c: f64,
    humidity_pct: f64,
    surface_c: Option<f64>,
    wind_kmh: f64,
    rain: Option<bool>,
    rain_mm: Option<f64>,
}

fn of_json(name: &str, text: &str, zone: Tz) -> Result<Rows<Hour>, Failure> {
    let list: Vec<serde_json::Value> = serde_json::from_str(text)
        .map_err(|error| Failure::input(format!("{name}: is not a list of hours in JSON: {error}")))?;
    let mut hours = Vec::new();
    for (place, value) in list.into_iter().enumerate() {
        let about = |why: String| Failure::input(format!("{name}:hour {}: {why}", place + 1));
        let given: JsonHour = serde_json::from_value(value).map_err(|error| about(error.to_string()))?;
        let rain = given.rain.or(given.rain_mm.map(|mm| mm > 0.0));
        hours.push(Hour {
            at: time(&given.at, zone).map_err(about)?,
            air_c: given.air_c,
            humidity_pct: given.humidity_pct,
            surface_c: given.surface_c,
            wind_kmh: given.wind_kmh,
            rain: rain.ok_or_else(|| about("has neither rain nor rain_mm: one of them is needed".into()))?,
            rain_mm: given.rain_mm,
        });
    }
    let places = (1..=hours.len()).map(|hour| format!("{name}:hour {hour}")).collect();
    Ok(Rows::new(hours, places))
}

fn show_in_force(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let Some(in_force) = &opened.book.state.forecast else {
        return if out.is_json() {
            out.json(&serde_json::json!({ "hours": [] }))
        } else {
            out.line("No forecast has been added: cladlog forecast add FILE.csv")
        };
    };
    let hours = in_force.forecast.hours();
    if out.is_json() {
        return out.json(&serde_json::json!({
            "entry": in_force.entry,
            "added_at": in_force.at.to_string(),
            "source": in_force.source.as_deref().unwrap_or("not said"),
            "hours": hours,
        }));
    }
    let today = opened.now.date();
    let source = in_force.source.as_deref().unwrap_or("not said");
    let at = in_force.at.clock(today);
    out.wrapped(&format!("Forecast, not readings. Source: {source}. Added {at} (entry {}).", in_force.entry), 2)?;
    let row = |hour: &Hour| {
        let rain = match (hour.rain, hour.rain_mm) {
            (false, _) => String::new(),
            (true, None) => "rain".to_owned(),
            (true, Some(mm)) => format!("{} mm", show(mm)),
        };
        let [air, humidity, wind] = [hour.air_c, hour.humidity_pct, hour.wind_kmh].map(show);
        [hour.at.clock(today), air, humidity, hour.surface_c.map(show).unwrap_or_default(), wind, rain]
    };
    out.table(["from", "air °C", "humidity %", "surface °C", "wind km/h", "rain"], hours.iter().map(row))
}
