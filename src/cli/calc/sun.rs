//! `cladlog calc sun` and `shade`.

use chrono::{FixedOffset, NaiveDate};
use clap::Args;
use serde::Serialize;

use super::outcome::Outcome;
use crate::cli::failure::Failure;
use crate::cli::out::table_text;
use crate::conditions::shade::{Facing, Polar, WallLight, day};
use crate::conditions::sun::{Place, SunError, compass, position};
use crate::moment::Moment;
use crate::units::{Angle, number::shortened, number::show, parse_decimal};

/// More walls than any building has are a slip.
const MOST_WALLS: usize = 1000;

/// Position of the sun, and whether it is on a wall
#[derive(Debug, Args)]
#[command(after_help = "\
Example: cladlog calc sun --lat -43.5 --lon 172.6
           --at 2026-03-02T10:40:00+13:00 --bearing 45")]
pub struct SunArgs {
    #[command(flatten)]
    place: PlaceArgs,
    /// The time with its offset, such as 2026-03-02T10:40:00+13:00
    // Text, as everywhere else that `--at` is taken.
    #[arg(long, value_name = "TIME")]
    at: String,
    /// The way the wall faces, in degrees clockwise from north
    #[arg(long, value_name = "DEG", value_parser = parse_decimal)]
    bearing: Option<f64>,
}

#[derive(Debug, Args)]
struct PlaceArgs {
    /// Latitude, in degrees: + north, - south
    #[arg(long, value_name = "DEG", value_parser = parse_decimal)]
    lat: f64,
    /// Longitude, in degrees: + east, - west
    #[arg(long, value_name = "DEG", value_parser = parse_decimal)]
    lon: f64,
}

impl PlaceArgs {
    fn place(&self) -> Result<Place, SunError> {
        Place::new(Angle::degrees(self.lat), Angle::degrees(self.lon))
    }
}

#[derive(Serialize)]
struct Answer {
    elevation_deg: Angle,
    azimuth_deg: Angle,
    #[serde(skip_serializing_if = "Option::is_none")]
    incidence_deg: Option<Angle>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lit: Option<bool>,
}

/// A wall in shade, or a sun that is down, is an answer like any other.
pub fn sun(args: &SunArgs) -> Result<Outcome, Failure> {
    let at = Moment::parse_from_rfc3339(args.at.trim()).map_err(|_| {
        let hint = "write it with its offset, such as 2026-03-02T10:40:00+13:00";
        Failure::input_hint(format!("--at '{}' is not a full time", shortened(&args.at)), hint)
    })?;
    let sun = args.place.place().and_then(|place| position(&place, &at)).map_err(Failure::input)?;
    let bearing = args.bearing.map(Angle::degrees);
    let answer = Answer {
        elevation_deg: sun.elevation,
        azimuth_deg: sun.azimuth,
        incidence_deg: bearing.map(|bearing| sun.incidence(bearing)).transpose().map_err(Failure::input)?,
        lit: bearing.map(|bearing| sun.lights(bearing)).transpose().map_err(Failure::input)?,
    };
    let (elevation, azimuth) = (sun.elevation.as_degrees(), sun.azimuth.as_degrees());
    let mut text = format!("Elevation  {elevation:.2}°\nAzimuth    {azimuth:.2}° ({})\n", compass(sun.azimuth));
    if let Some(incidence) = answer.incidence_deg {
        text += &format!("Incidence  {:.2}° off straight-on\n", incidence.as_degrees());
    }
    text += match (sun.is_up(), answer.lit) {
        (false, _) => "The sun is below the horizon.",
        (true, Some(true)) => "The wall is in direct sun.",
        (true, Some(false)) => "The sun is behind the wall.",
        (true, None) => "",
    };
    Outcome::new(&answer, text)
}

/// When each wall is in direct sun on a day
#[derive(Debug, Args)]
#[command(after_help = "\
Example: cladlog calc shade --lat -43.5 --lon 172.6 --date 2026-03-02
           --offset +13:00 --bearing 0 90 180 270")]
pub struct ShadeArgs {
    #[command(flatten)]
    place: PlaceArgs,
    /// The day, such as 2026-03-02
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: NaiveDate,
    /// The offset of the clocks from UTC on that day, such as +12:00
    #[arg(long, value_name = "OFFSET", value_parser = offset, allow_hyphen_values = true)]
    offset: FixedOffset,
    /// The ways the walls face, in degrees clockwise from north
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, num_args = 1.., required = true)]
    bearing: Vec<f64>,
    /// Height of hills or neighbours before each wall, in degrees: one for all, or one a wall
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, num_args = 1..)]
    horizon: Vec<f64>,
}

pub fn shade(args: &ShadeArgs) -> Result<Outcome, Failure> {
    let (walls, horizons) = (args.bearing.len(), args.horizon.len());
    if walls > MOST_WALLS {
        return Err(Failure::input(format!("{walls} bearings are too many; at most {MOST_WALLS}")));
    }
    if horizons > 1 && horizons != walls {
        return Err(Failure::input_hint(
            format!("there are {horizons} horizons for {walls} walls"),
            "give one for all the walls, or one for each in the order of the bearings",
        ));
    }
    let facing = |(index, bearing): (usize, &f64)| {
        let wall = Facing::new(Angle::degrees(*bearing))?;
        match args.horizon.get(index).or(args.horizon.first()) {
            Some(horizon) => wall.with_horizon(Angle::degrees(*horizon)),
            None => Ok(wall),
        }
    };
    let walls: Result<Vec<Facing>, SunError> = args.bearing.iter().enumerate().map(facing).collect();
    let sun =
        walls.and_then(|walls| day(&args.place.place()?, args.date, args.offset, &walls)).map_err(Failure::input)?;
    // The end of the day reads 24:00, as people say it.
    let clock = |moment: &Moment| match moment.date() == args.date {
        true => moment.format("%H:%M:%S").to_string(),
        false => "24:00:00".to_owned(),
    };
    let mut text = format!("{}, clocks at {}\n", args.date.format("%a %-d %b %Y"), args.offset);
    text += match sun.polar {
        Some(Polar::Day) => "The sun does not set on this day.\n",
        Some(Polar::Night) => "The sun does not rise on this day.\n",
        None => "",
    };
    let (dawn, dusk) = (("First light", sun.civil_dawn), ("Last light", sun.civil_dusk));
    for (name, moment) in [dawn, ("Sunrise", sun.sunrise), ("Sunset", sun.sunset), dusk] {
        text += &moment.map_or_else(String::new, |moment| format!("{name:<12} {}\n", clock(&moment)));
    }
    let row = |wall: &WallLight| {
        let lit: Vec<String> = wall.lit.iter().map(|s| format!("{} to {}", clock(&s.from), clock(&s.to))).collect();
        let lit = if lit.is_empty() { "none".to_owned() } else { lit.join(", ") };
        [show(wall.bearing.as_degrees()), compass(wall.bearing).to_owned(), lit]
    };
    let table = table_text(["wall °", "faces", "direct sun"], sun.walls.iter().map(row));
    Outcome::new(&sun, text + "\n" + &table)
}

fn date(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .map_err(|_| format!("'{}' is not a date: write year-month-day, such as 2026-03-02", shortened(text)))
}

/// `+12:00`, `-03:30` or `Z`; no clocks on Earth are further than 18 hours from UTC.
fn offset(text: &str) -> Result<FixedOffset, String> {
    let typed = text.trim().replace('−', "-").replace(['z', 'Z'], "+00:00");
    let offset = typed.parse().ok().filter(|_| typed.len() == "+00:00".len());
    offset.filter(|offset: &FixedOffset| offset.local_minus_utc().abs() <= 18 * 3600).ok_or_else(|| {
        format!("'{}' is not an offset: write hours and minutes from UTC, such as +12:00", shortened(text))
    })
}
