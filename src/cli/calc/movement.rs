//! `cladlog calc movement`: joint movement and least joint width.

use clap::Args;

use crate::cli::{Failure, Out};
use crate::sealing::movement::{ISO_11600_CLASSES, Movement, joint_width};
use crate::sealing::sealant::{backer_for, depth_for};
use crate::units::number::{shortened, show};
use crate::units::{Length, parse_decimal};

/// Joint movement and least joint width
#[derive(Debug, Args)]
pub struct MovementArgs {
    /// Length that moves into the joint, from joint to joint, m
    #[arg(long, value_name = "M", value_parser = parse_decimal, allow_negative_numbers = true)]
    length_m: f64,
    /// Hottest less coldest surface over the year, °C
    #[arg(long, value_name = "C", value_parser = parse_decimal, allow_negative_numbers = true)]
    temp_range_c: f64,
    /// Expansion per °C as a share of the length, such as 0.000008 or 8e-6
    #[arg(long, value_name = "ALPHA", value_parser = coefficient, allow_negative_numbers = true)]
    alpha_per_c: f64,
    /// Movement from dry to wet, % of the length
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    moisture_pct: f64,
    /// Movement class of the sealant, % of the joint's width (ISO 11600: 7.5, 12.5, 20, 25)
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    class: f64,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &MovementArgs, out: &mut Out) -> Result<(), Failure> {
    let joint = Movement {
        length: Length::mm(args.length_m * 1000.0),
        range_c: args.temp_range_c,
        alpha_per_c: args.alpha_per_c,
        moisture_pct: args.moisture_pct,
    };
    let sum = joint_width(&joint, args.class).map_err(Failure::input)?;
    if out.is_json() {
        return out.json(&sum);
    }
    out.line(format!("Movement     {:.2} mm", sum.movement.as_mm()))?;
    out.line(format!("Least width  {:.2} mm in class {}", sum.least_width.as_mm(), show(args.class)))?;
    // What can be gunned is made no narrower than a gun can fill.
    let width = Length::mm(sum.least_width.as_mm().max(6.0));
    if let (Ok(depth), Ok(backer)) = (depth_for(width), backer_for(width)) {
        out.line(format!(
            "At {:.1} mm: sealant {:.1} mm deep, round backer from {:.1} mm.",
            width.as_mm(),
            depth.as_mm(),
            backer.as_mm()
        ))?;
    }
    if !ISO_11600_CLASSES.contains(&args.class) {
        out.say(format!("Class {} is not one of ISO 11600 (7.5, 12.5, 20, 25).", show(args.class)));
    }
    Ok(())
}

/// A coefficient of expansion: so small that a power of ten is how it is printed on data sheets.
fn coefficient(text: &str) -> Result<f64, String> {
    let Some((digits, power)) = text.trim().split_once(['e', 'E']) else {
        return parse_decimal(text).map_err(|error| error.to_string());
    };
    let error = || format!("'{}' is not a coefficient: write it as 0.000008 or 8e-6", shortened(text));
    let digits = parse_decimal(digits).map_err(|_| error())?;
    let power: i32 = power.parse().map_err(|_| error())?;
    // Read as one number, so that 8e-6 is the same float as 0.000008.
    format!("{digits}e{power}").parse().ok().filter(|value: &f64| value.is_finite()).ok_or_else(error)
}
