//! `cladlog calc shade`: when each wall is in direct sun on a day.

use chrono::{FixedOffset, NaiveDate};
use clap::Args;

use crate::cli::{Failure, Out};
use crate::conditions::shade::{Facing, Polar, Stretch, SunDay, day};
use crate::conditions::sun::{Place, SunError, compass};
use crate::moment::Moment;
use crate::units::{Angle, number::shortened, number::show, parse_decimal};

/// More walls than any building has are a slip.
const MOST_WALLS: usize = 1000;

/// When each wall is in direct sun on a day
#[derive(Debug, Args)]
pub struct ShadeArgs {
    /// Latitude, degrees, north positive
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true)]
    lat: f64,
    /// Longitude, degrees, east positive
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true)]
    lon: f64,
    /// The day, such as 2026-03-02
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: NaiveDate,
    /// The clocks' offset from UTC on that day, such as +12:00
    #[arg(long, value_name = "OFFSET", value_parser = offset, allow_hyphen_values = true)]
    offset: FixedOffset,
    /// The walls' outward directions, degrees clockwise from north
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true, num_args = 1.., required = true)]
    bearing: Vec<f64>,
    /// The height of hills or neighbours in front of each wall, degrees: one for all, or one a wall
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true, num_args = 1..)]
    horizon: Vec<f64>,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &ShadeArgs, out: &mut Out) -> Result<(), Failure> {
    let (walls, horizons) = (args.bearing.len(), args.horizon.len());
    if walls > MOST_WALLS {
        return Err(Failure::input(format!("{walls} bearings were given, at most {MOST_WALLS} are taken at once")));
    }
    if horizons > 1 && horizons != walls {
        return Err(Failure::input_hint(
            format!("{horizons} horizons were given for {walls} walls"),
            "give one for all the walls, or one for each in the order of the bearings",
        ));
    }
    let sun = sum(args).map_err(Failure::input)?;
    if out.is_json() { out.json(&sun) } else { print(&sun, args, out) }
}

fn sum(args: &ShadeArgs) -> Result<SunDay, SunError> {
    let place = Place::new(Angle::degrees(args.lat), Angle::degrees(args.lon))?;
    let facing = |(index, bearing): (usize, &f64)| {
        let wall = Facing::new(Angle::degrees(*bearing))?;
        match args.horizon.get(index).or(args.horizon.first()) {
            Some(horizon) => wall.with_horizon(Angle::degrees(*horizon)),
            None => Ok(wall),
        }
    };
    let walls = args.bearing.iter().enumerate().map(facing).collect::<Result<Vec<_>, _>>()?;
    day(&place, args.date, args.offset, &walls)
}

fn print(sun: &SunDay, args: &ShadeArgs, out: &mut Out) -> Result<(), Failure> {
    out.line(format!("{}, clocks at {}", args.date.format("%a %-d %b %Y"), args.offset))?;
    match sun.polar {
        Some(Polar::Day) => out.line("The sun does not set on this day.")?,
        Some(Polar::Night) => out.line("The sun does not rise on this day.")?,
        None => {}
    }
    let named = [
        ("First light", sun.civil_dawn),
        ("Sunrise", sun.sunrise),
        ("Sunset", sun.sunset),
        ("Last light", sun.civil_dusk),
    ];
    for (name, moment) in named {
        if let Some(moment) = moment {
            out.line(format!("{name:<12} {}", clock(&moment, args.date)))?;
        }
    }
    out.line("")?;
    let rows: Vec<Vec<String>> = sun
        .walls
        .iter()
        .map(|wall| {
            let stretch = |s: &Stretch| format!("{} to {}", clock(&s.from, args.date), clock(&s.to, args.date));
            let lit = match wall.lit.is_empty() {
                true => "none".to_owned(),
                false => wall.lit.iter().map(stretch).collect::<Vec<_>>().join(", "),
            };
            vec![show(wall.bearing.as_degrees()), compass(wall.bearing).to_owned(), lit]
        })
        .collect();
    out.table(&["wall °", "faces", "direct sun"], &rows)
}

/// The clock time; the end of the day reads 24:00, as people say it.
fn clock(moment: &Moment, date: NaiveDate) -> String {
    if moment.date() == date { moment.format("%H:%M:%S").to_string() } else { "24:00:00".to_owned() }
}

fn date(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .map_err(|_| format!("'{}' is not a date: write year-month-day, such as 2026-03-02", shortened(text)))
}

/// `+12:00`, `-03:30` or `Z`; no clocks on Earth are further than 18 hours from UTC.
fn offset(text: &str) -> Result<FixedOffset, String> {
    let error = || format!("'{}' is not an offset: write hours and minutes from UTC, such as +12:00", shortened(text));
    let typed = text.trim();
    if typed.eq_ignore_ascii_case("z") {
        return FixedOffset::east_opt(0).ok_or_else(error);
    }
    let (sign, digits) = match typed.chars().next() {
        Some('+') => (1, typed.trim_start_matches('+')),
        Some('-' | '−') => (-1, typed.trim_start_matches(['-', '−'])),
        _ => return Err(error()),
    };
    let (hours, minutes) = digits.split_once(':').ok_or_else(error)?;
    let two = |part: &str| match part.len() == 2 && part.chars().all(|c| c.is_ascii_digit()) {
        true => part.parse::<i32>().ok(),
        false => None,
    };
    match (two(hours), two(minutes)) {
        (Some(hours), Some(minutes)) if minutes < 60 && hours * 60 + minutes <= 18 * 60 => {
            FixedOffset::east_opt(sign * (hours * 60 + minutes) * 60).ok_or_else(error)
        }
        _ => Err(error()),
    }
}
