//! `cladlog calc courses`.

use std::path::PathBuf;

use clap::Args;

use super::bound::{keep, kept_number};
use crate::cli::files::write_whole;
use crate::cli::input::{MM, read_toml};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::form::{Name, Section, tables};
use crate::setout::courses::{Building, Courses, Edge, Opening, Wall, courses, marks};
use crate::setout::drawing::rod_pages;
use crate::setout::of_job::building_of;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Finds one start height for the building, and every course height from it
///
/// FILE is TOML: cover_mm, lowest_mm, highest_mm, least_piece_mm, lift_in_mm,
/// and a [[wall]] each with key, top_mm, openings = [{sill_mm, head_mm}].
#[derive(Debug, Args)]
pub struct CoursesArgs {
    /// The building's heights: TOML; without it they are the job's
    file: Option<PathBuf>,
    /// Lowest start, in mm [default: that of the starter line the job has kept]
    #[arg(long, value_name = "MM", conflicts_with = "file", value_parser = parse_decimal, allow_negative_numbers = true)]
    lowest: Option<f64>,
    /// Highest start, in mm [default: that of the starter line the job has kept]
    #[arg(long, value_name = "MM", conflicts_with = "file", value_parser = parse_decimal, allow_negative_numbers = true)]
    highest: Option<f64>,
    /// Keep inputs and result in the job's record: courses are measured against it
    #[arg(long)]
    keep: bool,
    /// Also draw the storey rod full size, as SVG pages (A4) in this folder
    #[arg(long, value_name = "FOLDER")]
    rod: Option<PathBuf>,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> Building {
    let opening = |f: &Section<'_>| Opening {
        sill_mm: f.optional("sill_mm", MM, "height of the sill"),
        head_mm: f.optional("head_mm", MM, "height of the head"),
    };
    let wall = |f: &Section<'_>| Wall {
        key: f.required("key", Name, "key of the wall"),
        top_mm: f.required("top_mm", MM, "where the cladding ends"),
        openings: f.or_default("openings", tables("opening", opening), "its openings"),
    };
    Building {
        cover_mm: f.required("cover_mm", MM, "height that one course gains"),
        lowest_mm: f.required("lowest_mm", MM, "lowest starter line"),
        highest_mm: f.required("highest_mm", MM, "highest starter line"),
        least_piece_mm: f.required("least_piece_mm", MM, "lowest piece that may be left"),
        lift_in_mm: f.required("lift_in_mm", MM, "what the top piece loses so that it can be lifted in"),
        walls: f.or_default("wall", tables("wall", wall), "the walls, one [[wall]] each"),
    }
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a file that is wrong or holds no start; [`Failure::AnswerNo`] where a piece stays below the least.
pub fn run(args: &CoursesArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let (building, name) = match &args.file {
        Some(file) => (read_toml(file, "building", read)?, file.display().to_string()),
        None => {
            let opened = site.open()?;
            let hint = "cladlog calc starter FILE.csv … --keep, or give --lowest MM and --highest MM";
            let bound = |given: Option<f64>, key: &str| match given {
                Some(height) => Ok(height),
                None => kept_number(&opened, "starter", key, hint),
            };
            let (lowest, highest) = (bound(args.lowest, "lowest_mm")?, bound(args.highest, "highest_mm")?);
            (building_of(&opened.book.state.job, lowest, highest)?, format!("job {}", opened.stored.key))
        }
    };
    let set_out = courses(&building).map_err(|error| Failure::input(format!("{name}: {error}")))?;
    if args.keep {
        keep(site, "courses", "job", &building, &set_out, out)?;
    }
    if let Some(folder) = &args.rod {
        draw(folder, &building, &set_out, out)?;
    }
    if out.is_json() {
        out.json(&set_out)?
    } else {
        print(&building, &set_out, out)?
    }
    if set_out.ok { Ok(()) } else { Err(Failure::AnswerNo) }
}

fn draw(folder: &std::path::Path, building: &Building, set_out: &Courses, out: &mut Out) -> Result<(), Failure> {
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::machine(format!("{}: can't be made: {error}", folder.display())))?;
    let pages = rod_pages(&marks(building, set_out));
    for (number, page) in pages.iter().enumerate() {
        write_whole(&folder.join(format!("rod-{:02}.svg", number + 1)), page.as_bytes())?;
    }
    out.say(format!("Storey rod: {} pages in {}. Print at 100 % and check the square.", pages.len(), folder.display()));
    Ok(())
}

fn print(building: &Building, set_out: &Courses, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = marks(building, set_out)
        .into_iter()
        .map(|mark| {
            let walls = if mark.walls.is_empty() { "all walls".to_owned() } else { mark.walls.join(", ") };
            vec![show(mark.height_mm), mark.what.to_string(), walls]
        })
        .collect();
    out.table(&["height mm", "mark", "walls"], &rows)?;
    out.line("")?;
    let rips: Vec<Vec<String>> =
        set_out.walls.iter().map(|w| vec![w.key.clone(), w.courses_mm.len().to_string(), show(w.top_rip_mm)]).collect();
    out.table(&["wall", "courses", "top rip mm"], &rips)?;
    out.line("")?;
    let by = &set_out.smallest_by;
    let place = match by.what {
        Edge::Top => "under the top",
        Edge::Sill => "under the sill",
        Edge::Head => "over the head",
    };
    out.line(format!(
        "Start at {} mm. Smallest piece {} mm, {place} at {} mm on wall {}.",
        show(set_out.start_mm),
        show(set_out.smallest_piece_mm),
        show(by.at_mm),
        by.wall
    ))?;
    if !set_out.ok {
        out.line(format!("No start leaves {} mm everywhere; this one comes nearest.", show(building.least_piece_mm)))?;
    }
    Ok(())
}
