//! `cladlog calc bearing`.

use clap::Args;

use crate::cli::{Failure, Out};
use crate::setout::square::double_stud;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Checks that a joint has timber behind both panel edges (double stud)
#[derive(Debug, Args)]
pub struct BearingArgs {
    /// Centre of the joint from the wall's left end, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    joint: f64,
    /// Width of the joint, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    joint_width: f64,
    /// Centres of the studs near it, in mm
    #[arg(long, value_name = "MM", required = true, value_delimiter = ',', value_parser = parse_decimal)]
    studs: Vec<f64>,
    /// Thickness of a stud, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    stud: f64,
    /// Timber that each panel edge needs behind it, in mm; the maker says
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    needed: f64,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a length out of range; [`Failure::AnswerNo`] where an edge has too little behind it.
pub fn run(args: &BearingArgs, out: &mut Out) -> Result<(), Failure> {
    let bearing =
        double_stud(args.joint, args.joint_width, &args.studs, args.stud, args.needed).map_err(Failure::input)?;
    if out.is_json() {
        out.json(&bearing)?;
    } else {
        out.line(format!(
            "Timber behind the left edge {} mm, behind the right {} mm; {} mm is needed: {}.",
            show(bearing.left_mm),
            show(bearing.right_mm),
            show(args.needed),
            if bearing.ok { "enough" } else { "TOO LITTLE, add a stud" }
        ))?;
    }
    if bearing.ok { Ok(()) } else { Err(Failure::AnswerNo) }
}
