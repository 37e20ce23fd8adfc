//! `cladlog calc columns`.

use std::path::PathBuf;

use clap::Args;

use super::cuts_job::all_walls;
use super::outcome::Outcome;
use crate::building::Ends;
use crate::cli::failure::Failure;
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::form::{Count, List, Section, outline, table, tables};
use crate::plain::count;
use crate::setout::columns::{Columns, Gap, MOST_COURSES, Run};
use crate::setout::of_job::{JobError, run_of, taken_as_nothing};
use crate::units::number::show_mm;

/// Joints and columns of one wall, and the studs to add
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, lengths in mm from the framing's left end, seen from outside:
{}

Example: cladlog calc columns --keep", outline(read)))]
pub struct ColumnsArgs {
    /// The wall, as TOML
    file: Option<PathBuf>,
    /// The wall of the job; its inputs are the job's where there is no FILE [default: every wall]
    #[arg(long, value_name = "KEY")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record, for this wall or for every wall
    #[arg(long)]
    keep: bool,
    /// Move the joints that the drawings give where others are better
    #[arg(long)]
    move_joints: bool,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> Run {
    Run {
        length_mm: f.required("length_mm", MM, "length of the framing"),
        panel_mm: f.required("panel_mm", MM, "length of a whole panel"),
        least_mm: f.required("least_mm", MM, "shortest column that may end at a joint"),
        joint_mm: f.required("joint_mm", MM, "width of a joint"),
        studs_mm: f.or_default("studs_mm", List(MM), "centres of the studs"),
        openings: f.or_default("openings", tables("opening", gap), "the openings"),
        clear_of_opening_mm: f.required("clear_of_opening_mm", MM, "how far a joint keeps clear of an opening"),
        stud_width_mm: f.optional("stud_width_mm", MM, "width of a stud"),
        bearing_mm: f.optional("bearing_mm", MM, "what each panel edge needs on one stud"),
        kerf_mm: f.optional("kerf_mm", MM, "width of a cut: fewest panels before even columns"),
        courses: f.optional(
            "courses",
            Count(1, MOST_COURSES),
            "courses cut together: whole panels before even columns",
        ),
        ends: f.optional("ends", table("ends", ends), "what the corners take").unwrap_or_default(),
        drawn_mm: f.or_default("drawn_mm", List(MM), "joints that the drawings give: kept where they can be"),
    }
}

/// An opening along the wall.
pub fn gap(f: &Section<'_>) -> Gap {
    Gap { from_mm: f.required("from_mm", MM, "left side"), to_mm: f.required("to_mm", MM, "right side") }
}

/// The two ends of a run.
pub fn ends(f: &Section<'_>) -> Ends {
    Ends {
        left_mm: f.or_default("left_mm", MM, "at the left end; below 0 where cladding passes the framing"),
        right_mm: f.or_default("right_mm", MM, "at the right end"),
    }
}

pub fn columns(args: &ColumnsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let Some(file) = &args.file else {
        let opened = site.open()?;
        let job = &opened.book.state.job;
        let of_wall = |key: &str| {
            let run = run_of(job, key)?;
            let drawn = run.drawn_mm.clone();
            let outcome = set_out(args, run, &drawn, &format!("wall {key}"), args.keep.then_some(key))?;
            let is_lapped = job.panel.as_ref().is_some_and(|panel| panel.lap_mm.is_some());
            let by_course = "Note: ends of lapped boards are set out course by course: cladlog calc boards.";
            let taken = job.wall(key).and_then(|wall| taken_as_nothing(job, wall));
            Ok(outcome.note(taken).remark(is_lapped.then(|| by_course.to_owned())))
        };
        return match &args.wall {
            Some(key) => of_wall(key),
            None => Outcome::of_walls(all_walls(&opened), of_wall),
        };
    };
    let run = read_toml(file, "wall", read)?;
    let name = file.display().to_string();
    match (&args.wall, args.keep) {
        (Some(key), true) => {
            let opened = site.open()?;
            let wall = opened.book.state.job.wall(key).ok_or_else(|| JobError::NoWall(key.clone()))?;
            let drawn: Vec<f64> = wall.joints.iter().filter_map(|joint| joint.at_mm).collect();
            set_out(args, run, &drawn, &name, Some(key))
        }
        (None, false) => set_out(args, run, &[], &name, None),
        _ => Err(Failure::input("a FILE is kept for the wall that it is of: give --wall KEY and --keep together")),
    }
}

/// The columns of one wall, kept `on` it where that is asked.
fn set_out(args: &ColumnsArgs, mut run: Run, drawn: &[f64], name: &str, on: Option<&str>) -> Result<Outcome, Failure> {
    let drawn = if drawn.is_empty() { run.drawn_mm.clone() } else { drawn.to_vec() };
    if args.move_joints {
        run.drawn_mm.clear();
    }
    let columns = crate::setout::columns::columns(&run);
    let columns = columns.map_err(|error| Failure::input(format!("{name}: {error}")))?;
    let moved = moved(&drawn, &columns.joints_mm);
    Ok(Outcome::new(&columns, text(&run, &columns))?.keep_for(on, &run, &columns)?.remark(moved))
}

/// What is said where the joints are not those of the drawings.
fn moved(drawn: &[f64], joints: &[f64]) -> Option<String> {
    let moved: Vec<String> = drawn.iter().filter(|at| !joints.contains(at)).map(|at| show_mm(*at)).collect();
    let places = moved.join(", ");
    match moved.len() {
        0 => None,
        1 => Some(format!("Note: the joint drawn at {places} mm is moved.")),
        _ => Some(format!("Note: the joints drawn at {places} mm are moved.")),
    }
}

fn text(run: &Run, set_out: &Columns) -> String {
    let note = |joint: &f64| {
        let studs = set_out.framer.iter().filter(|stud| stud.joint_mm == *joint).count();
        let stud = match studs {
            0 => "on a stud".to_owned(),
            1 => "add a stud".to_owned(),
            more => format!("add {more} studs"),
        };
        let within = if set_out.in_openings_mm.contains(joint) { "; in an opening" } else { "" };
        stud + within
    };
    let row = |(place, column): (usize, &Gap)| {
        let joint = set_out.joints_mm.get(place);
        let [from, to, length] = [column.from_mm, column.to_mm, column.to_mm - column.from_mm].map(show_mm);
        let (at, note) = joint.map_or_else(Default::default, |joint| (show_mm(*joint), note(joint)));
        [(place + 1).to_string(), from, to, length, at, note]
    };
    let heading = ["column", "from mm", "to mm", "length mm", "joint at mm", "joint"];
    let mut text = table_text(heading, set_out.columns.iter().enumerate().map(row));
    let mut below: Vec<String> = Vec::new();
    if let Some(length) = set_out.short_run_mm {
        let (length, least) = (show_mm(length), show_mm(run.least_mm));
        below.push(format!("The run is one piece of {length} mm, shorter than the least piece of {least} mm."));
    }
    let studs: Vec<String> = set_out.add_studs_mm.iter().map(|at| show_mm(*at)).collect();
    if !studs.is_empty() {
        let (studs_in_words, places) = (count(studs.len(), "stud"), studs.join(", "));
        below.push(format!("For the framer, before the wrap: add {studs_in_words} at {places} mm."));
    }
    below.extend(panels(run, set_out));
    for line in below {
        text += &format!("\n\n{}", wrapped(&line, 2));
    }
    text
}

/// What the columns take, and what even ones would.
fn panels(run: &Run, set_out: &Columns) -> Option<String> {
    let material = set_out.material?;
    let (panels, even) = (material.panels, material.even_panels);
    let courses = count(run.courses.unwrap_or(1) as usize, "course");
    let taken = format!("{} for {courses}", count(panels as usize, "panel"));
    let more = match even.saturating_sub(panels) {
        0 => "evenly spaced columns would take the same number".to_owned(),
        more => format!("evenly spaced columns would take {more} more"),
    };
    let proof = if material.panels_proven { "" } else { " Fewer may be possible: the search was cut short." };
    Some(format!("{taken}; {more}.{proof}"))
}
