//! `cladlog calc courses`.

use std::path::{Path, PathBuf};

use clap::Args;

use super::outcome::Outcome;
use crate::building::{Job, Wall as JobWall};
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::form::{List, Name, Pair, Section, outline, tables};
use crate::plain::count;
use crate::record::ReviseJob;
use crate::setout::courses::{Building, Courses, Edge, Floors, LowNotch, Mark, Opening, Wall, WallCourses, marks};
use crate::setout::drawing::rod_pages;
use crate::setout::of_job::{JobError, building_of};
use crate::setout::outline::Outline;
use crate::units::number::show_mm;
use crate::units::parse_decimal;

/// One start height for the building, and every course height from it (storey rod)
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, lengths and heights in mm above one datum:
{}

Without FILE the building is the job's.

Example: cladlog calc courses --lowest 20 --highest 90 --keep", outline(read)))]
pub struct CoursesArgs {
    /// The heights of the building, as TOML
    file: Option<PathBuf>,
    /// Lowest start, in mm [default: that of the starter line in the job's record]
    #[arg(long, value_name = "MM", conflicts_with = "file", value_parser = parse_decimal)]
    lowest: Option<f64>,
    /// Highest start, in mm [default: that of the starter line in the job's record]
    #[arg(long, value_name = "MM", conflicts_with = "file", value_parser = parse_decimal)]
    highest: Option<f64>,
    /// How far the panel hangs below the start, in mm [default: as for the starter line in the job's record]
    #[arg(long, value_name = "MM", conflicts_with = "file", value_parser = parse_decimal)]
    overhang: Option<f64>,
    /// Only these walls of the job [default: all of them]
    #[arg(long, value_name = "KEY", value_delimiter = ',', conflicts_with_all = ["file", "keep"])]
    wall: Vec<String>,
    /// Keep inputs and result in the job's record: courses are measured against it
    #[arg(long)]
    keep: bool,
    /// Also give each wall of the job as many courses as the rod has
    #[arg(long, requires = "keep")]
    revise: bool,
    /// Also draw the storey rod full size, as SVG pages (A4) in this folder
    #[arg(long, value_name = "FOLDER")]
    rod: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> Building {
    let opening = |f: &Section<'_>| Opening {
        from_mm: f.optional("from_mm", MM, "left side"),
        to_mm: f.optional("to_mm", MM, "right side"),
        sill_mm: f.optional("sill_mm", MM, "height of the sill"),
        head_mm: f.optional("head_mm", MM, "height of the head"),
    };
    let wall = |f: &Section<'_>| Wall {
        key: f.required("key", Name, "key of the wall"),
        top: top_of(f),
        base: base_of(f),
        openings: f.or_default("openings", tables("opening", opening), "its openings"),
    };
    let cover_mm = f.required("cover_mm", MM, "height that one course gains");
    let least = f.optional("cover_least_mm", MM, "for lapped boards, the least that a course may gain");
    let most = f.optional("cover_most_mm", MM, "the most that it may gain");
    if least.is_some() != most.is_some() {
        f.mistake("'cover_least_mm' and 'cover_most_mm' go together: give both or neither");
    }
    let gap_mm = f.or_default("gap_mm", MM, "gap between panel and opening; 0");
    Building {
        cover_mm,
        gains_mm: least.zip(most),
        overhang_mm: f.or_default("overhang_mm", MM, "how far the panel hangs below the start; 0"),
        lowest_mm: f.required("lowest_mm", MM, "lowest starter line"),
        highest_mm: f.required("highest_mm", MM, "highest starter line"),
        least_piece_mm: f.required("least_piece_mm", MM, "lowest piece that may be left"),
        lift_in_mm: f.required(
            "lift_in_mm",
            MM,
            "what is left free under the top so that the last piece can be lifted in",
        ),
        head_gap_mm: f.optional("head_gap_mm", MM, "gap over a head; gap_mm").unwrap_or(gap_mm),
        sill_gap_mm: f.optional("sill_gap_mm", MM, "gap under a sill; gap_mm").unwrap_or(gap_mm),
        base_gap_mm: f.or_default("base_gap_mm", MM, "gap over the base; 0"),
        floors: Floors {
            lines_mm: f.or_default("floor_lines_mm", List(MM), "floor lines at which cladding is broken by a joint"),
            gap_mm: f.or_default(
                "floor_gap_mm",
                MM,
                "from a floor line to the lowest that cladding above may begin; 0",
            ),
            range_mm: f.or_default("floor_range_mm", MM, "how much higher it may begin; 0"),
        },
        walls: f.or_default("wall", tables("wall", wall), "the walls"),
    }
}

/// The upper outline of a wall, level or point by point.
pub fn top_of(f: &Section<'_>) -> Outline {
    let level = f.optional("top_mm", MM, "where the cladding ends");
    let points =
        f.optional("top", List(Pair(MM)), "or its upper outline, points from left to right; two of one x are a step");
    match (level, points) {
        (Some(height), None) => Outline::level(height),
        (None, Some(points)) => outline_of(f, "top", points),
        (Some(_), Some(_)) => {
            f.mistake_in("top", "give 'top_mm' or 'top', not both");
            Outline::level(0.0)
        }
        (None, None) => {
            if !f.has("top_mm") && !f.has("top") {
                f.mistake("this wall has no 'top_mm': add it (where the cladding ends), or 'top' (its upper outline)");
            }
            Outline::level(0.0)
        }
    }
}

/// The lower outline of a wall, where it has one.
pub fn base_of(f: &Section<'_>) -> Option<Outline> {
    let points = f.optional("base", List(Pair(MM)), "its lower outline, where it has one");
    points.map(|points| outline_of(f, "base", points))
}

fn outline_of(f: &Section<'_>, key: &str, points: Vec<[f64; 2]>) -> Outline {
    if points.len() < 2 {
        f.mistake_in(key, format!("'{key}' must have at least two points"));
    }
    Outline { points }
}

/// What finds a start for lapped boards where a fixed gain finds none.
const LET_OUT: &str = "Note: lapped boards can let their lap out: with cover_least_mm and cover_most_mm in [panel] the gain of \
                       the courses is chosen too.";

pub fn courses(args: &CoursesArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let needs_job = args.file.is_none() || args.keep;
    let opened = if needs_job { Some(site.open()?) } else { None };
    let (building, name) = match (&args.file, &opened) {
        (Some(file), _) => (read_toml(file, "building", read)?, file.display().to_string()),
        (None, None) => return Err(Failure::input("give a file, or a job")),
        (None, Some(opened)) => {
            let state = &opened.book.state;
            let start = state.start_range(args.lowest, args.highest, args.overhang)?;
            if let Some(unknown) = args.wall.iter().find(|key| state.job.wall(key).is_none()) {
                return Err(JobError::NoWall(unknown.clone()).into());
            }
            let asked = |wall: &&JobWall| args.wall.is_empty() || args.wall.contains(&wall.key);
            let building = building_of(&state.job, state.job.walls.iter().filter(asked), &start)?;
            (building, format!("job {}", opened.stored.key))
        }
    };
    let courses = crate::setout::courses::courses(&building);
    let courses = courses.map_err(|error| Failure::input(format!("{name}: {error}")))?;
    let marks = marks(&building, &courses);
    let mut outcome = Outcome::new(&courses, text(&building, &courses, &marks))?.yes_if(courses.ok);
    let of_job = opened.as_ref().filter(|_| args.file.is_none());
    let panel = of_job.and_then(|opened| opened.book.state.job.panel.as_ref());
    let fixed_lap = panel.is_some_and(|panel| panel.lap_mm.is_some() && panel.cover_least_mm.is_none());
    outcome = outcome.note((fixed_lap && !courses.ok).then(|| LET_OUT.to_owned()));
    let short_lap = of_job.and_then(|opened| opened.book.state.short_lap(most_gain_mm(&building, &courses)));
    outcome = outcome.note(short_lap.map(|lap| format!("Note: {lap}.")));
    if let Some(opened) = opened.filter(|_| args.keep) {
        let job = &opened.book.state.job;
        let revised = with_courses_of(job, &courses);
        let differing = job.walls.iter().zip(&revised.walls).filter(|(one, other)| one.courses != other.courses);
        let words = |(one, other): (&JobWall, &JobWall)| {
            format!(
                "wall {}: {} by this rod, {} in the job",
                one.key,
                count(other.courses as usize, "course"),
                one.courses
            )
        };
        let differing: Vec<String> = differing.map(words).collect();
        if args.revise && !differing.is_empty() {
            let (building, why) = (Box::new(revised), "as many courses as the storey rod has".to_owned());
            outcome = outcome.record(ReviseJob { building, changes: Vec::new(), why, anyway: false });
        } else if !differing.is_empty() {
            let differing = differing.join("; ");
            let note = format!(
                "Note: {differing}. The day goes by the job: give --revise with --keep, and the job takes the rod's."
            );
            outcome = outcome.note(Some(note));
        }
        outcome = outcome.keep_for(Some("job"), &building, &courses)?;
    }
    match &args.rod {
        Some(folder) => draw(outcome, folder, &marks, args.over),
        None => Ok(outcome),
    }
}

/// The most that a course gains on this rod.
fn most_gain_mm(building: &Building, courses: &Courses) -> f64 {
    let Some((_, most)) = building.gains_mm else { return building.cover_mm };
    let lines = courses.walls.iter().flat_map(|wall| wall.courses_mm.windows(2));
    // What is more is the joint between two lifts.
    lines.map(|pair| pair[1] - pair[0]).filter(|gain| *gain <= most).fold(0.0, f64::max)
}

/// The job with as many courses on each wall as the rod has.
fn with_courses_of(job: &Job, courses: &Courses) -> Job {
    let mut revised = job.clone();
    for wall in &mut revised.walls {
        let found = courses.walls.iter().find(|found| found.key == wall.key);
        wall.courses = found.map_or(wall.courses, |found| found.courses_mm.len() as u32);
    }
    revised
}

fn text(building: &Building, courses: &Courses, marks: &[Mark]) -> String {
    let mark = |mark: &Mark| {
        let walls = if mark.walls.is_empty() { "all walls".to_owned() } else { mark.walls.join(", ") };
        [show_mm(mark.height_mm), mark.what.to_string(), walls]
    };
    let wall = |w: &WallCourses| {
        [w.key.clone(), w.courses_mm.len().to_string(), w.top_rip_mm.map_or_else(String::new, show_mm)]
    };
    let by = &courses.smallest_by;
    let edge = match by.what {
        Edge::Top if building.floors.lines_mm.contains(&by.at_mm) => "under the floor line",
        Edge::Top => "under the top",
        Edge::Peak => "under the peak",
        Edge::Base => "over the base",
        Edge::Sill => "under the sill",
        Edge::Head => "over the head",
    };
    let mut text = format!(
        "{}\n\n{}\n\nStart at {} mm. Smallest piece {} mm, {edge} at {} mm on wall {}.",
        table_text(["height mm", "mark", "walls"], marks.iter().map(mark)),
        table_text(["wall", "courses", "top rip mm"], courses.walls.iter().map(wall)),
        show_mm(courses.start_mm),
        show_mm(courses.smallest_piece_mm),
        show_mm(by.at_mm),
        by.wall
    );
    for lift in &courses.lifts {
        text += &format!("\n{}", lift.in_words());
    }
    if let Some(met) = courses.met {
        text += &format!("\nSills, heads and level tops met by a course line: {met}.");
    }
    let notch = |notch: &LowNotch| {
        let (height, at, wall) = (show_mm(notch.height_mm), show_mm(notch.at_mm), &notch.wall);
        let edge = if notch.what == Edge::Sill { "sill" } else { "head" };
        format!("{height} mm at the {edge} at {at} mm on wall {wall}")
    };
    if !courses.low_notches.is_empty() {
        let notches = courses.low_notches.iter().map(notch).collect::<Vec<_>>().join("; ");
        let line = format!("Notches lower than the least piece, {} mm: {notches}.", show_mm(building.least_piece_mm));
        text += &format!("\n{}", wrapped(&line, 2));
    }
    if let Some(start) = courses.fewest_notches_at_mm.map(show_mm) {
        let line = format!("A start at {start} mm leaves fewer notches: --lowest {start} --highest {start}.");
        text += &format!("\n{}", wrapped(&line, 2));
    }
    if !courses.ok {
        let least = show_mm(building.least_piece_mm);
        text += &format!("\nNo start leaves {least} mm everywhere; this one comes nearest.");
    }
    text
}

/// The storey rod as files in a folder, and what is said of it.
fn draw(outcome: Outcome, folder: &Path, marks: &[Mark], over: Overwrite) -> Result<Outcome, Failure> {
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::machine(format!("{}: can't be made: {error}", folder.display())))?;
    let pages = rod_pages(marks);
    let (number, folder_name) = (count(pages.len(), "page"), folder.display());
    let remark = format!("Storey rod: {number} in {folder_name}. Print at 100 % and check the square.");
    let page = |outcome: Outcome, (number, page): (usize, String)| {
        outcome.file(&folder.join(format!("rod-{number:02}.svg")), page, over)
    };
    Ok((1..).zip(pages).fold(outcome, page).remark([remark]))
}
