//! `cladlog calc framer`: what the framer adds before the wrap goes on, from the job's own geometry.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::cuts_job::{all_walls, walls_named};
use super::outcome::Outcome;
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::setout::framer::{AddedStud, Blocking, Framer, USUAL_STUD_MM};
use crate::setout::of_job::JobError;
use crate::table::{Cell, csv_of};
use crate::units::number::{show, show_mm};

/// The framer's list: studs and blocking behind every edge of the cladding
#[derive(Debug, Args)]
#[command(after_help = "\
Columns and courses are those kept in the job's record, or else worked out from the job. Places are from the framing's \
left end, seen from outside; heights over the datum.

Example: cladlog calc framer --wall N,E --csv framer.csv")]
pub struct FramerArgs {
    /// Walls [default: the whole job]
    #[arg(long, value_name = "KEY", value_delimiter = ',')]
    wall: Vec<String>,
    /// Also write the list for the framer, as CSV
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
}

/// The lists of some walls.
#[derive(Serialize)]
struct Lists {
    stud_width_mm: f64,
    bearing_mm: f64,
    walls: Vec<WallList>,
}

#[derive(Serialize)]
struct WallList {
    wall: String,
    #[serde(flatten)]
    list: Framer,
}

pub fn framer(args: &FramerArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    args.csv.iter().try_for_each(|file| args.over.may_write(file))?;
    let opened = site.open()?;
    let state = &opened.book.state;
    let walls = if args.wall.is_empty() { all_walls(&opened) } else { walls_named(&opened, &args.wall)? };
    let panel = state.job.panel.as_ref().ok_or(JobError::NoPanel)?;
    let list = |wall: String| {
        let list = state.framer(&wall, &state.set_out(&wall)?)?;
        Ok::<_, Failure>(WallList { wall, list })
    };
    let lists = Lists {
        stud_width_mm: panel.stud_width_mm.unwrap_or(USUAL_STUD_MM.0),
        bearing_mm: panel.bearing_mm.unwrap_or(USUAL_STUD_MM.1),
        walls: walls.into_iter().map(list).collect::<Result<_, _>>()?,
    };
    let usual = panel.bearing_mm.is_none().then(|| {
        let (width, bearing) = (show_mm(lists.stud_width_mm), show_mm(lists.bearing_mm));
        format!(
            "The job gives no bearing_mm: on studs {width} mm wide each edge is taken to need {bearing} mm (common \
             practice), and a joint on a stud is taken to be borne. With stud_width_mm and bearing_mm in [panel], each edge \
             of a joint is looked at too."
        )
    });
    let outcome = Outcome::new(&lists, text(&lists, usual.as_deref()))?;
    Ok(args.csv.iter().fold(outcome, |outcome, file| outcome.file(file, csv(&lists), args.over)))
}

fn text(lists: &Lists, usual: Option<&str>) -> String {
    let mut parts = Vec::new();
    for WallList { wall, list } in &lists.walls {
        parts.push(format!("Wall {wall}"));
        let stud = |it: &AddedStud| {
            let moved: Vec<String> =
                it.instead_of_mm.iter().map(|stud| format!("; move {} here", show_mm(*stud))).collect();
            let behind = it.serves.join(", ") + &moved.concat();
            [show_mm(it.at_mm), show_mm(it.bottom_mm), show_mm(it.top_mm), behind]
        };
        parts.push(match list.studs.is_empty() {
            true => "No stud to add.".to_owned(),
            false => table_text(["stud at mm", "from mm", "to mm", "behind"], list.studs.iter().map(stud)),
        });
        let block = |it: &Blocking| {
            let height = match it.height_mm == it.to_height_mm {
                true => show_mm(it.height_mm),
                false => format!("{} to {}", show_mm(it.height_mm), show_mm(it.to_height_mm)),
            };
            [height, show_mm(it.from_mm), show_mm(it.to_mm), it.serves.clone()]
        };
        let heading = ["blocking at height mm", "from mm", "to mm", "behind"];
        parts.push(table_text(heading, list.blocking.iter().map(block)));
        for edge in &list.no_room {
            let line = format!("No room for a stud behind {edge}: those that stand there are in the way. Move one.");
            parts.push(wrapped(&line, 2));
        }
    }
    parts.extend(usual.map(|usual| wrapped(usual, 0)));
    parts.push("The drawings come first.".to_owned());
    parts.join("\n\n")
}

/// One row for each stud and each piece of blocking.
fn csv(lists: &Lists) -> Vec<u8> {
    let mut rows: Vec<(&str, &str, [f64; 4], String)> = Vec::new();
    for WallList { wall, list } in &lists.walls {
        let studs = list.studs.iter();
        rows.extend(studs.map(|it| {
            let places = [it.at_mm, it.at_mm, it.bottom_mm, it.top_mm];
            (wall.as_str(), "stud", places, it.serves.join(", "))
        }));
        let blocking = list.blocking.iter();
        rows.extend(blocking.map(|it| {
            let places = [it.from_mm, it.to_mm, it.height_mm, it.to_height_mm];
            (wall.as_str(), "blocking", places, it.serves.clone())
        }));
    }
    let mm = |value: f64| Cell::text(show(value));
    csv_of(
        rows,
        &[
            ("wall", &|(wall, ..)| (*wall).into()),
            ("what", &|(_, what, ..)| (*what).into()),
            ("from_mm", &|(_, _, places, _)| mm(places[0])),
            ("to_mm", &|(_, _, places, _)| mm(places[1])),
            ("bottom_mm", &|(_, _, places, _)| mm(places[2])),
            ("top_mm", &|(_, _, places, _)| mm(places[3])),
            ("behind", &|(.., behind)| behind.into()),
        ],
    )
}
