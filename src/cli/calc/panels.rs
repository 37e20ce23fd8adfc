//! `cladlog calc panels`: every piece of a wall, from the columns and courses that the job has kept.

use clap::Args;
use serde_json::Value;

use super::bound::{keep, kept_number};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::setout::columns::{Gap, columns};
use crate::setout::courses::courses;
use crate::setout::of_job::{building_of, run_of, set_out_of};
use crate::setout::panels::{Panels, SetOut, panels};
use crate::units::number::show;

/// Counts every piece of a wall: rip, notches, area, cut edge
///
/// The wall's columns and courses are worked out from the job; the start range
/// is that of the starter line that the job has kept.
#[derive(Debug, Args)]
pub struct PanelsArgs {
    /// The wall
    #[arg(long, value_name = "KEY")]
    wall: String,
    /// Keep inputs and result in the job's record
    #[arg(long)]
    keep: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] when the job does not say enough, or nothing fits.
pub fn run(args: &PanelsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let set_out = set_out(&opened, &args.wall)?;
    let pieces = panels(&set_out).map_err(Failure::input)?;
    if args.keep {
        keep(site, "panels", &args.wall, &set_out, &pieces, out)?;
    }
    if out.is_json() { out.json(&pieces) } else { print(&pieces, out) }
}

/// The wall set out: by the plans that the job has kept, or else as its geometry gives them.
pub(super) fn set_out(opened: &crate::cli::site::Opened, wall: &str) -> Result<SetOut, Failure> {
    let state = &opened.book.state;
    let place = state.subjects.index(wall).unwrap_or(0);
    let gaps = match state.plan("columns", place).and_then(|plan| gaps_of(&plan.result)) {
        Some(gaps) => gaps,
        None => columns(&run_of(&state.job, wall)?).map_err(Failure::input)?.columns,
    };
    let kept = state.plan("courses", place).and_then(|plan| courses_of(&plan.result, wall));
    let courses_mm = match kept {
        Some(heights) => heights,
        None => {
            let hint =
                "cladlog calc starter FILE.csv … --keep, or cladlog calc courses --lowest MM --highest MM --keep";
            let lowest = kept_number(opened, "starter", "lowest_mm", hint)?;
            let highest = kept_number(opened, "starter", "highest_mm", hint)?;
            let all = courses(&building_of(&state.job, lowest, highest)?).map_err(Failure::input)?;
            all.walls.into_iter().find(|found| found.key == wall).map(|found| found.courses_mm).unwrap_or_default()
        }
    };
    Ok(set_out_of(&state.job, wall, gaps, courses_mm)?)
}

fn gaps_of(result: &Value) -> Option<Vec<Gap>> {
    let number = |gap: &Value, key: &str| gap.get(key)?.as_f64();
    let columns = result.get("columns")?.as_array()?;
    columns.iter().map(|gap| Some(Gap { from_mm: number(gap, "from_mm")?, to_mm: number(gap, "to_mm")? })).collect()
}

fn courses_of(result: &Value, wall: &str) -> Option<Vec<f64>> {
    let walls = result.get("walls")?.as_array()?;
    let found = walls.iter().find(|found| found.get("key").and_then(Value::as_str) == Some(wall))?;
    found.get("courses_mm")?.as_array()?.iter().map(Value::as_f64).collect()
}

fn print(pieces: &Panels, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = pieces
        .pieces
        .iter()
        .map(|piece| {
            let notches: Vec<String> = piece
                .notches
                .iter()
                .map(|n| {
                    format!(
                        "{} x {} at {}, {}",
                        show(n.length_mm),
                        show(n.height_mm),
                        show(n.from_left_mm),
                        show(n.from_bottom_mm)
                    )
                })
                .collect();
            let rip = if piece.ripped { "rip" } else { "" };
            vec![
                piece.label.clone(),
                show(piece.length_mm),
                show(piece.height_mm),
                rip.to_owned(),
                notches.join("; "),
                show(piece.cut_edge_m),
            ]
        })
        .collect();
    out.table(&["piece", "length mm", "height mm", "", "notch: length x height at left, bottom", "cut edge m"], &rows)?;
    out.line("")?;
    out.line(format!(
        "{} pieces, {} m², {} m of cut edge to seal.",
        pieces.pieces.len(),
        show(pieces.area_m2),
        show(pieces.cut_edge_m)
    ))
}
