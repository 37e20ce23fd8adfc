//! `cladlog calc corner`.

use clap::Args;
use serde::Serialize;

use crate::cli::{Failure, Out};
use crate::setout::square::{Corner, CornerFaces, corner, corner_faces};
use crate::units::number::show;
use crate::units::parse_decimal;

/// Finds how far a corner is out of square (3-4-5), and checks its two faces
#[derive(Debug, Args)]
pub struct CornerArgs {
    /// Mark on the first wall from the corner, in mm, such as 3000
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    along: f64,
    /// Mark on the second wall from the corner, in mm, such as 4000
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    across: f64,
    /// Distance between the two marks, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    between: f64,
    /// The corner stud's two faces from their walls' planes, in mm, + proud
    #[arg(long, num_args = 2, value_names = ["FIRST", "SECOND"], value_parser = parse_decimal,
        allow_negative_numbers = true, requires = "within")]
    faces: Option<Vec<f64>>,
    /// How far a face may stand off its plane, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    within: Option<f64>,
}

#[derive(Serialize)]
struct Answer {
    #[serde(flatten)]
    corner: Corner,
    #[serde(skip_serializing_if = "Option::is_none")]
    faces: Option<CornerFaces>,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a length out of range; [`Failure::AnswerNo`] where a face is out.
pub fn run(args: &CornerArgs, out: &mut Out) -> Result<(), Failure> {
    let square = corner(args.along, args.across, args.between).map_err(Failure::input)?;
    let faces = match (args.faces.as_deref(), args.within) {
        (Some(&[first, second]), Some(within)) => Some(corner_faces(first, second, within).map_err(Failure::input)?),
        _ => None,
    };
    let ok = faces.as_ref().is_none_or(|faces| faces.ok);
    let answer = Answer { corner: square, faces };
    if out.is_json() {
        out.json(&answer)?;
    } else {
        let Answer { corner, faces } = &answer;
        out.line(format!("Square, it would measure {} mm between the marks.", show(corner.square_mm)))?;
        out.line(format!(
            "The corner is {}°: the second mark stands {} mm off square.",
            show(corner.angle_deg),
            show(corner.out_mm)
        ))?;
        if let Some(faces) = faces {
            let word = if faces.ok { "in" } else { "OUT" };
            out.line(format!("Faces {} and {} mm off: {word}.", show(faces.first_mm), show(faces.second_mm)))?;
        }
    }
    if ok { Ok(()) } else { Err(Failure::AnswerNo) }
}
