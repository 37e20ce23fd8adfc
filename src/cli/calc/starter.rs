//! `cladlog calc starter`.

use std::path::PathBuf;

use clap::Args;

use super::bound::keep;
use crate::cli::input::{Row, read_table};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::setout::starter::{Governing, Governs, Place, Starter, StarterRules, starter};
use crate::units::number::show;
use crate::units::{Bounds, bounds, parse_decimal};

const CLEARANCE: Bounds = Bounds { what: "clearance", unit: "mm", least: 0.0, most: 10_000.0 };

/// Finds the lowest and the highest start of the starter line
///
/// FILE has a row a place: wall, at_mm, flashing_mm, ground_mm, cover_to_mm,
/// heights above one datum, blank where there is none. A column
/// clear_ground_mm may give a row its own clearance (paved beside unpaved).
#[derive(Debug, Args)]
pub struct StarterArgs {
    /// Readings: CSV with wall, at_mm, flashing_mm, ground_mm, cover_to_mm
    file: PathBuf,
    /// Least gap from flashing up to the panel, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    clear_flashing: f64,
    /// Least gap from ground up to the panel, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    clear_ground: f64,
    /// How far the panel hangs below the start, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal, allow_negative_numbers = true)]
    overhang: f64,
    /// How far the panel reaches below what it covers, in mm
    #[arg(long, value_name = "MM", default_value = "0", value_parser = parse_decimal, allow_negative_numbers = true)]
    cover: f64,
    /// Keep inputs and result in the job's record: the storey rod takes its range from there
    #[arg(long)]
    keep: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a file or a number that is out of range; [`Failure::AnswerNo`] where there is no start.
pub fn run(args: &StarterArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let rules = StarterRules {
        clear_flashing_mm: args.clear_flashing,
        clear_ground_mm: args.clear_ground,
        overhang_mm: args.overhang,
        cover_mm: args.cover,
    };
    let needed = ["wall", "at_mm", "flashing_mm", "ground_mm", "cover_to_mm"];
    let rows = read_table(&args.file, &needed, &["clear_ground_mm"])?;
    let places = rows.iter().map(place).collect::<Result<Vec<_>, _>>()?;
    let range =
        starter(&places, &rules).map_err(|error| match error.row().and_then(|number| rows.get(number - 1)) {
            Some(row) => row.error(&error),
            None => Failure::input(&error),
        })?;
    if args.keep && range.feasible {
        keep(site, "starter", "job", &serde_json::json!({ "rules": &rules, "places": &places }), &range, out)?;
    }
    if out.is_json() {
        out.json(&range)?
    } else {
        print(&range, out)?
    }
    if range.feasible { Ok(()) } else { Err(Failure::AnswerNo) }
}

fn place(row: &Row) -> Result<Place, Failure> {
    Ok(Place {
        wall: row.text("wall").to_owned(),
        at_mm: row.decimal("at_mm", &bounds::LENGTH)?,
        flashing_mm: row.decimal_or_blank("flashing_mm", &bounds::LENGTH)?,
        ground_mm: row.decimal_or_blank("ground_mm", &bounds::LENGTH)?,
        cover_to_mm: row.decimal_or_blank("cover_to_mm", &bounds::LENGTH)?,
        clear_ground_mm: row.decimal_or_blank("clear_ground_mm", &CLEARANCE)?,
    })
}

fn print(range: &Starter, out: &mut Out) -> Result<(), Failure> {
    for (name, height, by) in
        [("Lowest start", range.lowest_mm, &range.lowest_by), ("Highest start", range.highest_mm, &range.highest_by)]
    {
        match height.zip(by.as_ref()) {
            Some((height, by)) => out.line(format!("{name:<14} {} mm, set by {}", show(height), governed_by(by)))?,
            None => out.line(format!("{name:<14} nothing bounds it"))?,
        }
    }
    match range.short_by_mm {
        Some(short) => out.line(format!("No start keeps to both: {} mm short.", show(short))),
        None => Ok(()),
    }
}

fn governed_by(by: &Governing) -> String {
    let what = match by.what {
        Governs::Flashing => "the flashing",
        Governs::Ground => "the ground",
        Governs::CoverTo => "what must be covered",
    };
    format!("{what} on wall {} at {} mm", by.wall, show(by.at_mm))
}
