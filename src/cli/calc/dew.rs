//! `cladlog calc dew`: dew point, and the margin of a surface over it.

use clap::Args;
use serde_json::json;

use crate::cli::{Failure, Out};
use crate::conditions::dew::{self, LEAST_MARGIN};
use crate::units::{Humidity, Temperature, parse_decimal};

/// Dew point, and the margin of a surface over it
#[derive(Debug, Args)]
pub struct DewArgs {
    /// Air temperature, °C
    #[arg(long, value_name = "C", value_parser = parse_decimal, allow_negative_numbers = true)]
    air: f64,
    /// Relative humidity, %, above 0 and up to 100
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    humidity: f64,
    /// Temperature of the surface, °C
    #[arg(long, value_name = "C", value_parser = parse_decimal, allow_negative_numbers = true)]
    surface: Option<f64>,
}

/// Runs the sum and prints it. A margin that is too small is an answer like any other, not a refusal.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &DewArgs, out: &mut Out) -> Result<(), Failure> {
    let (air, humidity) = (Temperature::celsius(args.air), Humidity::percent(args.humidity));
    let Some(surface) = args.surface else {
        let dew = dew::dew_point(air, humidity).map_err(Failure::input)?;
        return match out.is_json() {
            true => out.json(&json!({ "dew_point_c": dew })),
            false => out.line(format!("Dew point  {:.1} °C", dew.as_celsius())),
        };
    };
    let wall = dew::margin(Temperature::celsius(surface), air, humidity).map_err(Failure::input)?;
    if out.is_json() {
        return out.json(&wall);
    }
    out.line(format!("Dew point  {:.1} °C", wall.dew_point.as_celsius()))?;
    out.line(format!("Margin     {:.1} °C, surface over dew point", wall.margin.as_celsius()))?;
    let least = LEAST_MARGIN.as_celsius();
    out.line(match wall.ok {
        true => format!("Dry enough: at least {least} °C over the dew point."),
        false => format!(
            "Too near the dew point: the surface has to reach {:.1} °C ({least} °C over it).",
            wall.dew_point.as_celsius() + least
        ),
    })
}
