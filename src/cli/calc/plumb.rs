//! `cladlog calc plumb`.

use clap::Args;

use crate::cli::{Failure, Out};
use crate::setout::square::lean;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Finds the lean of a wall from its gaps to a plumb line or laser
#[derive(Debug, Args)]
pub struct PlumbArgs {
    /// Height between the two readings, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    height: f64,
    /// Gap at the bottom, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    bottom: f64,
    /// Gap at the top, in mm; a smaller one stands out
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    top: f64,
    /// Allowed lean, in mm a metre
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    tolerance: f64,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a reading out of range; [`Failure::AnswerNo`] where it leans too far.
pub fn run(args: &PlumbArgs, out: &mut Out) -> Result<(), Failure> {
    let lean = lean(args.height, args.bottom, args.top, args.tolerance).map_err(Failure::input)?;
    if out.is_json() {
        out.json(&lean)?;
    } else {
        let word = if lean.ok { "in" } else { "OUT" };
        out.line(format!(
            "The top stands {} mm {} ({} mm a metre); {} mm is allowed: {word}.",
            show(lean.out_mm.abs()),
            if lean.out_mm < 0.0 { "in" } else { "out" },
            show(lean.lean_mm_per_m.abs()),
            show(lean.most_mm)
        ))?;
    }
    if lean.ok { Ok(()) } else { Err(Failure::AnswerNo) }
}
