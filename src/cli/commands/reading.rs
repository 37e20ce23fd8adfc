//! `cladlog reading`: site conditions on a wall.

use clap::Args;

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Request;
use crate::units::parse_decimal;

/// Record site conditions on a wall
#[derive(Debug, Args)]
pub struct ReadingArgs {
    /// The wall or walls
    #[arg(long, value_name = "WALL")]
    pub on: String,
    /// Air temperature in the shade, °C
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    pub air: String,
    /// Relative humidity, %
    #[arg(long, value_name = "PCT", allow_hyphen_values = true)]
    pub humidity: String,
    /// Surface temperature of the wall, °C
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    pub surface: String,
    /// Wind, km/h
    #[arg(long, value_name = "KMH", allow_hyphen_values = true)]
    pub wind: Option<String>,
    /// It is raining on the wall
    #[arg(long)]
    pub rain: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &ReadingArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let number =
        |option: &str, text: &str| parse_decimal(text).map_err(|error| Failure::input(format!("{option}: {error}")));
    let request = Request::Reading {
        on: args.on.clone(),
        air_c: number("--air", &args.air)?,
        humidity_pct: number("--humidity", &args.humidity)?,
        surface_c: number("--surface", &args.surface)?,
        wind_kmh: args.wind.as_deref().map(|text| number("--wind", text)).transpose()?,
        rain: args.rain,
    };
    site.record_and_tell(&request, out)
}
