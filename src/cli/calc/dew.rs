//! `cladlog calc dew`.

use clap::Args;
use serde_json::json;

use super::outcome::Outcome;
use crate::cli::failure::Failure;
use crate::conditions::dew::{LEAST_MARGIN, dew_point, margin};
use crate::units::{Humidity, Temperature, parse_decimal};

/// Dew point, and how far a surface is above it
#[derive(Debug, Args)]
#[command(after_help = "Example: cladlog calc dew --air 25 --humidity 60 --surface 18")]
pub struct DewArgs {
    /// Air temperature, in °C
    #[arg(long, value_name = "C", value_parser = parse_decimal)]
    air: f64,
    /// Relative humidity, in %: above 0 and at most 100
    #[arg(long, value_name = "PCT", value_parser = parse_decimal)]
    humidity: f64,
    /// Temperature of the surface, in °C
    #[arg(long, value_name = "C", value_parser = parse_decimal)]
    surface: Option<f64>,
}

/// A margin that is too small is an answer like any other, not a refusal.
pub fn dew(args: &DewArgs) -> Result<Outcome, Failure> {
    let (air, humidity) = (Temperature::celsius(args.air), Humidity::percent(args.humidity));
    let Some(surface) = args.surface else {
        let dew = dew_point(air, humidity).map_err(Failure::input)?;
        return Outcome::new(&json!({ "dew_point_c": dew }), format!("Dew point  {:.1} °C", dew.as_celsius()));
    };
    let found = margin(Temperature::celsius(surface), air, humidity).map_err(Failure::input)?;
    let (dew, margin, least) = (found.dew_point.as_celsius(), found.margin.as_celsius(), LEAST_MARGIN.as_celsius());
    let verdict = match found.ok {
        true => format!("Dry enough: at least {least} °C above the dew point."),
        false => {
            format!("Too close to the dew point: the surface must reach {:.1} °C ({least} °C above it).", dew + least)
        }
    };
    let text = format!("Dew point  {dew:.1} °C\nMargin     {margin:.1} °C, surface above dew point\n{verdict}");
    Outcome::new(&found, text)
}
