//! `cladlog calc square`, `corner`, `plumb` and `bearing`: what a tape and a line tell of a frame.

use clap::Args;
use serde::Serialize;

use super::outcome::Outcome;
use crate::cli::failure::Failure;
use crate::setout::square::{Corner, CornerFaces, FrameRead, corner_faces, double_stud, lean};
use crate::units::number::{show, show_mm, show_mm_beside, show_to};
use crate::units::parse_decimal;

/// How far a frame is out of square, from its diagonals
#[derive(Debug, Args)]
#[command(after_help = "Example: cladlog calc square --width 3000 --height 4000 --diagonals 5003 4997")]
pub struct SquareArgs {
    /// Width of the frame, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    width: f64,
    /// Height of the frame, in mm; checks the diagonals
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    height: f64,
    /// The two diagonals, in mm
    #[arg(long, num_args = 2, required = true, value_names = ["A", "B"], value_parser = parse_decimal)]
    diagonals: Vec<f64>,
}

pub fn square(args: &SquareArgs) -> Result<Outcome, Failure> {
    let [first, second] = args.diagonals[..] else {
        return Err(Failure::input("--diagonals takes two lengths, such as --diagonals 5003 4998"));
    };
    let read = FrameRead { diagonals_mm: [first, second], width_mm: args.width, height_mm: Some(args.height) };
    let frame = read.racked().map_err(Failure::input)?;
    let text = match frame.out_mm {
        0.0 => "Square: both diagonals are the same.".to_owned(),
        out if show_mm(out) == "0" => "Square, as near as a tape reads.".to_owned(),
        out => format!("Out of square: the top is {} mm sideways of the bottom.", show_mm(out)),
    };
    Outcome::new(&frame, text)
}

/// How far a corner is out of square (3-4-5), and how far its faces are off their planes
#[derive(Debug, Args)]
#[command(after_help = "\
Example: cladlog calc corner --along 3000 --across 4000 --between 5003
           --faces 1.5 -2 --within 3")]
pub struct CornerArgs {
    /// Mark on the first wall, from the corner, in mm, such as 3000
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    along: f64,
    /// Mark on the second wall, from the corner, in mm, such as 4000
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    across: f64,
    /// Distance between the two marks, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    between: f64,
    /// The corner stud's two faces from the planes of their walls, in mm: + proud, - shy
    #[arg(long, num_args = 2, value_names = ["FIRST", "SECOND"], value_parser = parse_decimal, requires = "within")]
    faces: Option<Vec<f64>>,
    /// How far a face may be off its plane, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    within: Option<f64>,
}

pub fn corner(args: &CornerArgs) -> Result<Outcome, Failure> {
    #[derive(Serialize)]
    struct Answer {
        #[serde(flatten)]
        corner: Corner,
        #[serde(skip_serializing_if = "Option::is_none")]
        faces: Option<CornerFaces>,
    }
    let corner = crate::setout::square::corner(args.along, args.across, args.between).map_err(Failure::input)?;
    let out = match corner.out_mm {
        out if show_mm(out) == "0" => "the corner is square".to_owned(),
        out if out > 0.0 => format!("the corner is closed, the second mark {} mm too far in", show_mm(out)),
        out => format!("the corner is open, the second mark {} mm too far out", show_mm(-out)),
    };
    let mut text = format!(
        "A square corner would measure {} mm between the marks.\nAt {}° {out}.\n",
        show_mm(corner.square_mm),
        show_to(corner.angle_deg, 1),
    );
    let mut answer = Answer { corner, faces: None };
    if let (Some(&[first, second]), Some(within)) = (args.faces.as_deref(), args.within) {
        let faces = corner_faces(first, second, within).map_err(Failure::input)?;
        let word = if faces.ok { "in" } else { "OUT" };
        text += &format!("Faces {} and {} mm off: {word}.", show(faces.first_mm), show(faces.second_mm));
        answer.faces = Some(faces);
    }
    Ok(Outcome::new(&answer, text)?.yes_if(answer.faces.is_none_or(|faces| faces.ok)))
}

/// Lean of a wall over its height, from its gaps to a plumb line or laser
#[derive(Debug, Args)]
#[command(after_help = "\
A smaller gap at the top than at the bottom: the wall leans out.

Example: cladlog calc plumb --height 2400 --bottom 50 --top 46 --tolerance 2")]
pub struct PlumbArgs {
    /// Height between the two readings, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    height: f64,
    /// Gap between line and wall at the bottom, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    bottom: f64,
    /// Gap between line and wall at the top, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    top: f64,
    /// Allowed lean, in mm per metre of height
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    tolerance: f64,
}

pub fn plumb(args: &PlumbArgs) -> Result<Outcome, Failure> {
    let lean = lean(args.height, args.bottom, args.top, args.tolerance).map_err(Failure::input)?;
    let text = format!(
        "The top is {} mm {} ({} mm per metre); {} mm is allowed: {}.",
        show_mm_beside(lean.out_mm.abs(), lean.most_mm),
        if lean.out_mm < 0.0 { "in" } else { "out" },
        show_to(lean.lean_mm_per_m.abs(), 1),
        show_mm_beside(lean.most_mm, lean.out_mm.abs()),
        if lean.ok { "in tolerance" } else { "OUT OF TOLERANCE" }
    );
    Ok(Outcome::new(&lean, text)?.yes_if(lean.ok))
}

/// Check that a joint has timber behind both panel edges (double stud)
#[derive(Debug, Args)]
#[command(after_help = "\
Example: cladlog calc bearing --joint 2400 --joint-width 10
           --studs 2372.5,2427.5 --stud 45 --needed 18")]
pub struct BearingArgs {
    /// Centre of the joint, from the wall's left end, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    joint: f64,
    /// Width of the joint, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    joint_width: f64,
    /// Centres of the studs near it, from the wall's left end, in mm
    #[arg(long, value_name = "MM", required = true, value_delimiter = ',', value_parser = parse_decimal)]
    studs: Vec<f64>,
    /// Thickness of a stud, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    stud: f64,
    /// Timber needed behind each panel edge, in mm; see the maker's instructions
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    needed: f64,
}

pub fn bearing(args: &BearingArgs) -> Result<Outcome, Failure> {
    let bearing = double_stud(args.joint, args.joint_width, &args.studs, args.stud, args.needed);
    let bearing = bearing.map_err(Failure::input)?;
    let text = format!(
        "Timber behind the left edge {} mm, behind the right edge {} mm; needed {} mm: {}.",
        show_mm_beside(bearing.left_mm, args.needed),
        show_mm_beside(bearing.right_mm, args.needed),
        show(args.needed),
        if bearing.ok { "enough" } else { "TOO LITTLE, add a stud" }
    );
    Ok(Outcome::new(&bearing, text)?.yes_if(bearing.ok))
}
