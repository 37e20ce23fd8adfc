//! `cladlog calc starter`.

use clap::Args;
use serde_json::json;

use super::outcome::Outcome;
use super::rows::RowsArgs;
use crate::cli::failure::Failure;
use crate::form::{Columns, Row};
use crate::setout::starter::{Governing, Governs, Place, StarterRules};
use crate::units::number::{shortened, show};
use crate::units::parse_decimal;

const COLUMNS: Columns = Columns {
    required: &["wall", "at_mm", "flashing_mm", "ground_mm", "cover_to_mm"],
    optional: &["clear_ground_mm", "paved"],
};

/// Lowest and highest start of the starter line
#[derive(Debug, Args)]
#[command(mut_arg("rows", |rows| rows.value_name("wall,at_mm,…")), after_help = "\
A row is one place along a wall: at_mm from its left end, then heights in mm above one datum (+ above, - below): top \
of the flashing, the ground, and the height that must be covered down to; blank where there is none. paved says yes \
or no of the ground at this place; clear_ground_mm gives a row a clearance of its own.

Example: cladlog calc starter --row N,0,3,-150,25 --row N,2400,5,-160,25
           --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25")]
pub struct StarterArgs {
    #[command(flatten)]
    rows: RowsArgs,
    /// Least gap from the flashing up to the panel, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_flashing: f64,
    /// Least gap from the ground up to the panel, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_ground: f64,
    /// Least gap from paved ground up to the panel, in mm, for rows whose ground is paved
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_paved: Option<f64>,
    /// How far the panel hangs below the start, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    overhang: f64,
    /// How far the panel must reach below what it covers, in mm
    #[arg(long, value_name = "MM", default_value = "0", value_parser = parse_decimal)]
    cover: f64,
    /// How far off its height the starter line may be fixed, in mm: taken off both ends of the range
    #[arg(long, value_name = "MM", default_value = "0", value_parser = parse_decimal)]
    tolerance: f64,
    /// Keep inputs and result in the job's record; calc courses takes its range from there
    #[arg(long)]
    keep: bool,
}

pub fn starter(args: &StarterArgs) -> Result<Outcome, Failure> {
    let rules = StarterRules {
        clear_flashing_mm: args.clear_flashing,
        clear_ground_mm: args.clear_ground,
        clear_paved_mm: args.clear_paved,
        overhang_mm: args.overhang,
        cover_mm: args.cover,
        tolerance_mm: args.tolerance,
    };
    let rows = args.rows.read(&COLUMNS, place)?;
    let range = crate::setout::starter::starter(&rows.values, &rules);
    let range = range.map_err(|error| Failure::input(rows.mistake(&error)))?;
    let line = |name: &str, height: Option<f64>, by: &Option<Governing>| match height.zip(by.as_ref()) {
        Some((height, by)) => format!("{name:<14} {} mm, set by {}\n", show(height), governed_by(by)),
        None => format!("{name:<14} no limit\n"),
    };
    let mut text = line("Lowest start", range.lowest_mm, &range.lowest_by);
    text += &line("Highest start", range.highest_mm, &range.highest_by);
    if let Some(short) = range.short_by_mm {
        text += &format!("No start satisfies both: they are {} mm apart.", show(short));
    }
    let on = (args.keep && range.feasible).then_some("job");
    let inputs = json!({ "rules": rules, "places": rows.values });
    let not_kept = (args.keep && !range.feasible).then(|| "Not kept: no start satisfies both.".to_owned());
    Outcome::new(&range, text)?.yes_if(range.feasible).remark(not_kept).keep_for(on, &inputs, &range)
}

fn place(row: &Row<'_>) -> Result<Place, String> {
    Ok(Place {
        wall: row.text("wall").to_owned(),
        at_mm: row.number("at_mm")?,
        flashing_mm: row.number_or_blank("flashing_mm")?,
        ground_mm: row.number_or_blank("ground_mm")?,
        cover_to_mm: row.number_or_blank("cover_to_mm")?,
        clear_ground_mm: row.number_or_blank("clear_ground_mm")?,
        paved: match row.text("paved").to_lowercase().as_str() {
            "" => None,
            "yes" | "y" => Some(true),
            "no" | "n" => Some(false),
            other => return Err(format!("paved: '{}' is not yes or no", shortened(other))),
        },
    })
}

fn governed_by(by: &Governing) -> String {
    let what = match by.what {
        Governs::Flashing => "the flashing",
        Governs::Ground => "the ground",
        Governs::CoverTo => "what must be covered",
    };
    format!("{what} on wall {} at {} mm", by.wall, show(by.at_mm))
}
