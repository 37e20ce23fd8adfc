//! `cladlog calc`: the sums, standalone. One file a sum.

mod bearing;
mod bound;
mod columns;
mod corner;
mod courses;
mod cuts;
mod cuts_job;
mod dew;
mod exposure;
mod movement;
mod packing;
mod packing_asked;
mod panels;
mod plumb;
mod sealant;
mod sealplan;
mod shade;
mod square;
mod starter;
mod sun;
mod takeoff;

use clap::Subcommand;

use super::site::Site;
use super::{Failure, Out};

/// The sums of the trade.
#[derive(Debug, Subcommand)]
pub enum CalcCommand {
    /// Dew point, and the margin of a surface over it
    Dew(dew::DewArgs),
    /// Where the sun stands, and whether a wall is lit
    Sun(sun::SunArgs),
    /// When each wall is in direct sun on a day
    Shade(shade::ShadeArgs),
    /// Packing that brings stud faces to one plane
    Packing(packing::PackingArgs),
    /// Every piece of a wall: rip, notches, area, cut edge
    Panels(panels::PanelsArgs),
    /// How far a frame is out of square
    Square(square::SquareArgs),
    /// How far a corner is out of square, and its two faces
    Corner(corner::CornerArgs),
    /// Lean of a wall over its height
    Plumb(plumb::PlumbArgs),
    /// Timber behind both panel edges at a joint (double stud)
    Bearing(bearing::BearingArgs),
    /// Lowest and highest start of the starter line
    Starter(starter::StarterArgs),
    /// Course heights for the whole building (storey rod)
    Courses(courses::CoursesArgs),
    /// Columns and joints of one wall, and the studs to add
    Columns(columns::ColumnsArgs),
    /// Cut plan: pieces onto boards
    Cuts(cuts::CutsArgs),
    /// Take-off: what to order for some walls, or for the job
    Takeoff(takeoff::TakeoffArgs),
    /// Sealant volume and cartridges
    Sealant(sealant::SealantArgs),
    /// Joint movement and least joint width
    Movement(movement::MovementArgs),
    /// Timetable for the sealing day
    Sealplan(sealplan::SealplanFileArgs),
    /// Eight-hour time-weighted exposure
    Exposure(exposure::ExposureArgs),
}

/// Runs one sum.
///
/// # Errors
/// [`Failure`] as the sum says.
pub fn run(command: &CalcCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        CalcCommand::Dew(args) => dew::run(args, out),
        CalcCommand::Sun(args) => sun::run(args, out),
        CalcCommand::Shade(args) => shade::run(args, out),
        CalcCommand::Packing(args) => packing::run(args, site, out),
        CalcCommand::Panels(args) => panels::run(args, site, out),
        CalcCommand::Square(args) => square::run(args, out),
        CalcCommand::Corner(args) => corner::run(args, out),
        CalcCommand::Plumb(args) => plumb::run(args, out),
        CalcCommand::Bearing(args) => bearing::run(args, out),
        CalcCommand::Starter(args) => starter::run(args, site, out),
        CalcCommand::Courses(args) => courses::run(args, site, out),
        CalcCommand::Columns(args) => columns::run(args, site, out),
        CalcCommand::Cuts(args) => cuts::run(args, site, out),
        CalcCommand::Takeoff(args) => takeoff::run(args, site, out),
        CalcCommand::Sealant(args) => sealant::run(args, out),
        CalcCommand::Movement(args) => movement::run(args, out),
        CalcCommand::Sealplan(args) => sealplan::run(args, site, out),
        CalcCommand::Exposure(args) => exposure::run(args, site, out),
    }
}
