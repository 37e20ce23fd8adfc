//! `cladlog calc sealant` and `movement`.

use clap::Args;
use rust_decimal::Decimal;

use super::outcome::Outcome;
use crate::cli::failure::Failure;
use crate::sealing::movement::{ISO_11600_CLASSES, Movement, joint_width};
use crate::sealing::sealant::{CARTRIDGE_ML, Run, WASTE_PCT, backer_for, depth_for, typed};
use crate::units::number::{shortened, show};
use crate::units::{Length, parse_decimal};

/// Sealant for a length of joint: volume and cartridges
#[derive(Debug, Args)]
#[command(after_help = "Example: cladlog calc sealant --width 10 --depth 8 --length-m 48")]
pub struct SealantArgs {
    /// Width of the joint, in mm
    #[arg(long, value_name = "MM", value_parser = typed)]
    width: Decimal,
    /// Depth of the sealant, in mm
    #[arg(long, value_name = "MM", value_parser = typed)]
    depth: Decimal,
    /// Length of joint, in m
    #[arg(long, value_name = "M", value_parser = typed)]
    length_m: Decimal,
    /// Contents of one cartridge, in ml
    #[arg(long, value_name = "ML", value_parser = typed, default_value_t = CARTRIDGE_ML)]
    cartridge_ml: Decimal,
    /// Waste on top, in %
    #[arg(long, value_name = "PCT", value_parser = typed, default_value_t = WASTE_PCT)]
    waste_pct: Decimal,
}

pub fn sealant(args: &SealantArgs) -> Result<Outcome, Failure> {
    let SealantArgs { width: width_mm, depth: depth_mm, length_m, cartridge_ml, waste_pct } = *args;
    let run = Run { width_mm, depth_mm, length_m, cartridge_ml, waste_pct };
    let sum = crate::sealing::sealant::sealant(&run).map_err(Failure::input)?;
    let (volume, cartridges) = (show(sum.volume_ml), sum.cartridges);
    let text =
        format!("Volume      {volume} ml, {waste_pct} % waste included\nCartridges  {cartridges} of {cartridge_ml} ml");
    Outcome::new(&sum, text)
}

/// Movement of a joint, and the least width that its sealant takes
#[derive(Debug, Args)]
#[command(after_help = "\
Example: cladlog calc movement --length-m 2.4 --temp-range-c 60
           --alpha-per-c 8e-6 --moisture-pct 0.05 --class 25")]
pub struct MovementArgs {
    /// Length that moves into the joint, from joint to joint, in m
    #[arg(long, value_name = "M", value_parser = parse_decimal)]
    length_m: f64,
    /// Hottest surface of the year less the coldest, in °C
    #[arg(long, value_name = "C", value_parser = parse_decimal)]
    temp_range_c: f64,
    /// Expansion per °C as a share of the length, such as 0.000008 or 8e-6
    #[arg(long, value_name = "ALPHA", value_parser = coefficient)]
    alpha_per_c: f64,
    /// Movement from dry to wet, in % of the length
    #[arg(long, value_name = "PCT", value_parser = parse_decimal)]
    moisture_pct: f64,
    /// Movement class of the sealant, in % of the joint's width (ISO 11600: 7.5, 12.5, 20, 25)
    #[arg(long, value_name = "PCT", value_parser = parse_decimal)]
    class: f64,
}

pub fn movement(args: &MovementArgs) -> Result<Outcome, Failure> {
    let joint = Movement {
        length: Length::mm(args.length_m * 1000.0),
        range_c: args.temp_range_c,
        alpha_per_c: args.alpha_per_c,
        moisture_pct: args.moisture_pct,
    };
    let sum = joint_width(&joint, args.class).map_err(Failure::input)?;
    let (movement, least, class) = (sum.movement.as_mm(), sum.least_width.as_mm(), show(args.class));
    let mut text = format!("Movement     {movement:.2} mm\nLeast width  {least:.2} mm in class {class}\n");
    // No joint is made narrower than a gun can fill.
    let width = least.max(6.0);
    if let (Ok(depth), Ok(backer)) = (depth_for(Length::mm(width)), backer_for(Length::mm(width))) {
        let (depth, backer) = (depth.as_mm(), backer.as_mm());
        text += &format!("At {width:.1} mm: sealant {depth:.1} mm deep, round backer from {backer:.1} mm.");
    }
    let unknown = (!ISO_11600_CLASSES.contains(&args.class))
        .then(|| format!("Class {class} is not one of ISO 11600 (7.5, 12.5, 20, 25)."));
    Ok(Outcome::new(&sum, text)?.remark(unknown))
}

/// A coefficient of expansion: so small that data sheets print it as a power of ten.
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
