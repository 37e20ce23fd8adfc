//! The sums by name.

use clap::{Command, Subcommand};

use super::boards::{BoardsArgs, boards};
use super::columns::{ColumnsArgs, columns};
use super::courses::{CoursesArgs, courses};
use super::cuts::{CutsArgs, cuts};
use super::dew::{DewArgs, dew};
use super::exposure::{ExposureArgs, exposure};
use super::framer::{FramerArgs, framer};
use super::joint::{MovementArgs, SealantArgs, movement, sealant};
use super::packing::{PackingArgs, packing};
use super::panels::{PanelsArgs, panels};
use super::sealplan::{self, SealplanFileArgs};
use super::square::{BearingArgs, CornerArgs, PlumbArgs, SquareArgs, bearing, corner, plumb, square};
use super::starter::{StarterArgs, starter};
use super::sun::{ShadeArgs, SunArgs, shade, sun};
use super::takeoff::{TakeoffArgs, takeoff};
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;

/// The sums of the trade.
#[derive(Debug, Subcommand)]
#[command(mut_subcommands(negative_numbers))]
pub enum CalcCommand {
    Dew(DewArgs),
    Sun(SunArgs),
    Shade(ShadeArgs),
    Packing(PackingArgs),
    Panels(PanelsArgs),
    Square(SquareArgs),
    Corner(CornerArgs),
    Plumb(PlumbArgs),
    Bearing(BearingArgs),
    Starter(StarterArgs),
    Courses(CoursesArgs),
    Columns(ColumnsArgs),
    Boards(BoardsArgs),
    Framer(FramerArgs),
    Cuts(CutsArgs),
    Takeoff(TakeoffArgs),
    Sealant(SealantArgs),
    Movement(MovementArgs),
    Sealplan(SealplanFileArgs),
    Exposure(ExposureArgs),
}

/// Whatever takes a value may be given a number below zero: `--lat -43.5`.
fn negative_numbers(command: Command) -> Command {
    command.mut_args(|arg| {
        let takes_value = arg.get_action().takes_values();
        arg.allow_negative_numbers(takes_value)
    })
}

/// Works out one sum.
pub fn run(command: &CalcCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let outcome = match command {
        CalcCommand::Dew(args) => dew(args),
        CalcCommand::Sun(args) => sun(args),
        CalcCommand::Shade(args) => shade(args),
        CalcCommand::Packing(args) => packing(args, site),
        CalcCommand::Panels(args) => panels(args, site),
        CalcCommand::Square(args) => square(args),
        CalcCommand::Corner(args) => corner(args),
        CalcCommand::Plumb(args) => plumb(args),
        CalcCommand::Bearing(args) => bearing(args),
        CalcCommand::Starter(args) => starter(args, site),
        CalcCommand::Courses(args) => courses(args, site),
        CalcCommand::Columns(args) => columns(args, site),
        CalcCommand::Boards(args) => boards(args, site),
        CalcCommand::Framer(args) => framer(args, site),
        CalcCommand::Cuts(args) => cuts(args, site),
        CalcCommand::Takeoff(args) => takeoff(args, site),
        CalcCommand::Sealant(args) => sealant(args),
        CalcCommand::Movement(args) => movement(args),
        CalcCommand::Sealplan(args) => return sealplan::run(args, site, out),
        CalcCommand::Exposure(args) => exposure(args),
    };
    outcome?.show(site, out)
}
