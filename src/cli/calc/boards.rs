//! `cladlog calc boards`.

use std::path::PathBuf;

use clap::Args;

use super::columns::ends;
use super::cuts_job::all_walls;
use super::outcome::Outcome;
use super::panels::opening;
use crate::cli::failure::Failure;
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::form::{List, Pair, Section, outline, table, tables};
use crate::plain::count;
use crate::setout::boards::{BoardWall, Boards, CourseJoints};
use crate::setout::of_job::boards_of;
use crate::units::number::show;

/// Where the ends of lapped boards meet, course by course
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, lengths in mm from the framing's left end, seen from outside:
{}

Without FILE the wall is the job's, with the courses in its record, or else worked out.

Example: cladlog calc boards --wall N --keep", outline(read)))]
pub struct BoardsArgs {
    /// The wall, as TOML
    #[arg(conflicts_with_all = ["wall", "keep"])]
    file: Option<PathBuf>,
    /// The wall of the job [default: every wall]
    #[arg(long, value_name = "KEY")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record
    #[arg(long)]
    keep: bool,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> BoardWall {
    BoardWall {
        length_mm: f.required("length_mm", MM, "length of the framing"),
        board_mm: f.required("board_mm", MM, "length of the longest board"),
        least_mm: f.required("least_mm", MM, "shortest board that may end at a joint"),
        end_gap_mm: f.or_default("end_gap_mm", MM, "gap between two board ends"),
        stagger_mm: f.required("stagger_mm", MM, "how far joints of neighbouring courses keep apart"),
        studs_mm: f.required("studs_mm", List(MM), "centres of the studs"),
        ends: f.optional("ends", table("ends", ends), "what the corners take").unwrap_or_default(),
        courses: f.required("courses", List(Pair(MM)), "bottom and top of each course's face, from the lowest"),
        openings: f.or_default("openings", tables("opening", opening), "the openings"),
        gap_mm: f.or_default("gap_mm", MM, "gap between board and opening, all round"),
        clear_of_opening_mm: f.or_default("clear_of_opening_mm", MM, "how far board ends keep clear of a notch"),
    }
}

pub fn boards(args: &BoardsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    if let Some(file) = &args.file {
        return joints(&read_toml(file, "wall", read)?, &file.display().to_string(), None);
    }
    let opened = site.open()?;
    let state = &opened.book.state;
    let of_wall = |key: &str| {
        let wall = boards_of(&state.job, key, &state.course_lines(key)?)?;
        joints(&wall, &format!("wall {key}"), args.keep.then_some(key))
    };
    match &args.wall {
        Some(key) => of_wall(key),
        None => Outcome::of_walls(all_walls(&opened), of_wall),
    }
}

/// The board ends of one wall, kept `on` it where that is asked.
fn joints(wall: &BoardWall, name: &str, on: Option<&str>) -> Result<Outcome, Failure> {
    let boards = crate::setout::boards::boards(wall);
    let boards = boards.map_err(|error| Failure::input(format!("{name}: {error}")))?;
    let met = boards.unmet.is_empty();
    let not_kept = on.filter(|_| !met).map(|_| "Not kept: not every run can be met.".to_owned());
    Outcome::new(&boards, text(&boards))?.yes_if(met).remark(not_kept).keep_for(on.filter(|_| met), wall, &boards)
}

fn text(boards: &Boards) -> String {
    if !boards.unmet.is_empty() {
        let mut lines = Vec::new();
        for run in &boards.unmet {
            let (course, from, to) = (run.course, show(run.from_mm), show(run.to_mm));
            let why = match run.by_stagger {
                false => "no joints on studs keep every board between the shortest and the longest allowed",
                true => "no joints were found that keep the stagger from the course below",
            };
            lines.push(wrapped(&format!("Course {course}, the run from {from} to {to} mm: {why}."), 2));
        }
        return lines.join("\n");
    }
    let row = |course: &CourseJoints| {
        let joints: Vec<String> = course.joints_mm.iter().map(|at| show(*at)).collect();
        [course.course.to_string(), if joints.is_empty() { "-".to_owned() } else { joints.join(", ") }]
    };
    let proof = if boards.proven { "fewer are not possible" } else { "fewer may be possible" };
    let table = table_text(["course", "joints at mm"], boards.courses.iter().map(row));
    format!("{table}\n\n{}; {proof}.", count(boards.joints, "joint"))
}
