//! `cladlog calc courses`.

use std::path::{Path, PathBuf};

use clap::Args;

use super::outcome::{Outcome, counted, kept_number};
use crate::cli::failure::Failure;
use crate::cli::files::{Overwrite, write_whole};
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{COLUMNS, table_text};
use crate::cli::site::Site;
use crate::form::{Name, Section, outline, tables};
use crate::setout::courses::{Building, Courses, Edge, Mark, Opening, Wall, WallCourses, marks};
use crate::setout::drawing::rod_pages;
use crate::setout::of_job::building_of;
use crate::units::number::show;
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
    /// Keep inputs and result in the job's record: courses are measured against it
    #[arg(long)]
    keep: bool,
    /// Also draw the storey rod full size, as SVG pages (A4) in this folder
    #[arg(long, value_name = "FOLDER")]
    rod: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
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
        walls: f.or_default("wall", tables("wall", wall), "the walls"),
    }
}

pub fn courses(args: &CoursesArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
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
    let courses = crate::setout::courses::courses(&building);
    let courses = courses.map_err(|error| Failure::input(format!("{name}: {error}")))?;
    let marks = marks(&building, &courses);
    let remark = args.rod.iter().map(|folder| draw(folder, &marks, args.over)).collect::<Result<Vec<_>, _>>()?;
    let on = args.keep.then_some("job");
    let outcome = Outcome::new(&courses, text(&building, &courses, &marks))?.yes_if(courses.ok).remark(remark);
    outcome.keep(on, "courses", &building, &courses)
}

fn text(building: &Building, courses: &Courses, marks: &[Mark]) -> String {
    let mark = |mark: &Mark| {
        let walls = if mark.walls.is_empty() { "all walls".to_owned() } else { mark.walls.join(", ") };
        vec![show(mark.height_mm), mark.what.to_string(), walls]
    };
    let wall = |w: &WallCourses| vec![w.key.clone(), w.courses_mm.len().to_string(), show(w.top_rip_mm)];
    let rod: Vec<Vec<String>> = marks.iter().map(mark).collect();
    let walls: Vec<Vec<String>> = courses.walls.iter().map(wall).collect();
    let by = &courses.smallest_by;
    let edge = match by.what {
        Edge::Top => "under the top",
        Edge::Sill => "under the sill",
        Edge::Head => "over the head",
    };
    let mut text = format!(
        "{}\n\n{}\n\nStart at {} mm. Smallest piece {} mm, {edge} at {} mm on wall {}.",
        table_text(&["height mm", "mark", "walls"], &rod, COLUMNS),
        table_text(&["wall", "courses", "top rip mm"], &walls, COLUMNS),
        show(courses.start_mm),
        show(courses.smallest_piece_mm),
        show(by.at_mm),
        by.wall
    );
    if !courses.ok {
        let least = show(building.least_piece_mm);
        text += &format!("\nNo start leaves {least} mm everywhere; this one comes nearest.");
    }
    text
}

fn draw(folder: &Path, marks: &[Mark], over: Overwrite) -> Result<String, Failure> {
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::machine(format!("{}: can't be made: {error}", folder.display())))?;
    let pages = rod_pages(marks);
    let place = |number: usize| folder.join(format!("rod-{:02}.svg", number + 1));
    (0..pages.len()).try_for_each(|number| over.may_write(&place(number)))?;
    for (number, page) in pages.iter().enumerate() {
        write_whole(&place(number), page.as_bytes())?;
    }
    let pages = counted(pages.len(), "page");
    Ok(format!("Storey rod: {pages} in {}. Print at 100 % and check the square.", folder.display()))
}
