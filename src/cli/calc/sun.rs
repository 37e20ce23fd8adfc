//! `cladlog calc sun`: where the sun stands, and whether a wall is lit.

use crate::moment::Moment;
use clap::Args;
use serde::Serialize;

use crate::cli::{Failure, Out};
use crate::conditions::sun::{Place, SunError, compass, position};
use crate::units::{Angle, number::shortened, parse_decimal};

/// Where the sun stands, and whether a wall is lit
#[derive(Debug, Args)]
pub struct SunArgs {
    /// Latitude, degrees, north positive
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true)]
    lat: f64,
    /// Longitude, degrees, east positive
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true)]
    lon: f64,
    /// The moment, with its offset, such as 2026-03-02T10:40:00+13:00
    // Text, as everywhere else that `--at` is taken.
    #[arg(long, value_name = "TIME")]
    at: String,
    /// The wall's outward direction, degrees clockwise from north
    #[arg(long, value_name = "DEG", value_parser = parse_decimal, allow_negative_numbers = true)]
    bearing: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Answer {
    elevation_deg: Angle,
    azimuth_deg: Angle,
    #[serde(skip_serializing_if = "Option::is_none")]
    incidence_deg: Option<Angle>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lit: Option<bool>,
}

/// Runs the sum and prints it. A wall in shade, or a sun that is down, is an answer like any other.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &SunArgs, out: &mut Out) -> Result<(), Failure> {
    let moment = Moment::parse_from_rfc3339(args.at.trim()).map_err(|_| {
        Failure::input_hint(
            format!("--at '{}' is not a full time", shortened(&args.at)),
            "write it with its offset, such as 2026-03-02T10:40:00+13:00",
        )
    })?;
    let answer = answer(args, &moment).map_err(Failure::input)?;
    if out.is_json() {
        return out.json(&answer.0);
    }
    let (Answer { elevation_deg, azimuth_deg, incidence_deg, lit }, up) = answer;
    out.line(format!("Elevation  {:.2}°", elevation_deg.as_degrees()))?;
    out.line(format!("Azimuth    {:.2}° ({})", azimuth_deg.as_degrees(), compass(azimuth_deg)))?;
    if let Some(incidence) = incidence_deg {
        out.line(format!("Incidence  {:.2}° off square to the wall", incidence.as_degrees()))?;
    }
    match (up, lit) {
        (false, _) => out.line("The sun is below the horizon."),
        (true, Some(true)) => out.line("The wall is in direct sun."),
        (true, Some(false)) => out.line("The sun is behind the wall."),
        (true, None) => Ok(()),
    }
}

/// The answer, and whether the sun is up.
fn answer(args: &SunArgs, moment: &crate::moment::Moment) -> Result<(Answer, bool), SunError> {
    let place = Place::new(Angle::degrees(args.lat), Angle::degrees(args.lon))?;
    let sun = position(&place, moment)?;
    let bearing = args.bearing.map(Angle::degrees);
    let answer = Answer {
        elevation_deg: sun.elevation,
        azimuth_deg: sun.azimuth,
        incidence_deg: bearing.map(|bearing| sun.incidence(bearing)).transpose()?,
        lit: bearing.map(|bearing| sun.lights(bearing)).transpose()?,
    };
    Ok((answer, sun.is_up()))
}
