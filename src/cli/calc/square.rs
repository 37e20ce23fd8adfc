//! `cladlog calc square`.

use clap::Args;

use crate::cli::{Failure, Out};
use crate::setout::square::racked;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Finds how far the top of a frame stands sideways of its bottom
#[derive(Debug, Args)]
pub struct SquareArgs {
    /// Width of the frame, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    width: f64,
    /// Height of the frame, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    height: f64,
    /// The two diagonals, in mm
    #[arg(long, num_args = 2, required = true, value_names = ["A", "B"], value_parser = parse_decimal,
        allow_negative_numbers = true)]
    diagonals: Vec<f64>,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a length out of range, or diagonals of no such frame.
pub fn run(args: &SquareArgs, out: &mut Out) -> Result<(), Failure> {
    let [first, second] = args.diagonals[..] else {
        return Err(Failure::input("--diagonals takes two lengths, such as --diagonals 5003 4998"));
    };
    let frame = racked(args.width, args.height, first, second).map_err(Failure::input)?;
    if out.is_json() {
        return out.json(&frame);
    }
    if frame.out_mm == 0.0 {
        return out.line("Square: both diagonals are the same.");
    }
    out.line(format!("Out of square: the top stands {} mm sideways of the bottom.", show(frame.out_mm)))
}
