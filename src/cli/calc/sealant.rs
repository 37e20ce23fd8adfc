//! `cladlog calc sealant`: volume and cartridges for a run of joint.

use clap::Args;
use rust_decimal::Decimal;

use crate::cli::{Failure, Out};
use crate::sealing::sealant::{CARTRIDGE_ML, Run, WASTE_PCT, sealant, typed};
use crate::units::number::show;

/// Sealant volume and cartridges for a run of joint
#[derive(Debug, Args)]
pub struct SealantArgs {
    /// Width of the joint, mm
    #[arg(long, value_name = "MM", value_parser = typed, allow_negative_numbers = true)]
    width: Decimal,
    /// Depth of the sealant, mm
    #[arg(long, value_name = "MM", value_parser = typed, allow_negative_numbers = true)]
    depth: Decimal,
    /// Length of joint, m
    #[arg(long, value_name = "M", value_parser = typed, allow_negative_numbers = true)]
    length_m: Decimal,
    /// What one cartridge holds, ml
    #[arg(long, value_name = "ML", value_parser = typed, allow_negative_numbers = true, default_value_t = CARTRIDGE_ML)]
    cartridge_ml: Decimal,
    /// Waste on top, %
    #[arg(long, value_name = "PCT", value_parser = typed, allow_negative_numbers = true, default_value_t = WASTE_PCT)]
    waste_pct: Decimal,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &SealantArgs, out: &mut Out) -> Result<(), Failure> {
    let sum = sealant(&Run {
        width_mm: args.width,
        depth_mm: args.depth,
        length_m: args.length_m,
        cartridge_ml: args.cartridge_ml,
        waste_pct: args.waste_pct,
    })
    .map_err(Failure::input)?;
    if out.is_json() {
        return out.json(&sum);
    }
    out.line(format!("Volume      {} ml, {} % waste in it", show(sum.volume_ml), args.waste_pct))?;
    out.line(format!("Cartridges  {} of {} ml", sum.cartridges, args.cartridge_ml))
}
