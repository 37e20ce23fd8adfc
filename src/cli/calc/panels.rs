//! `cladlog calc panels`: every piece of a wall, from the columns and courses that the job has kept.

use clap::Args;
use serde_json::Value;

use super::courses::starter_line;
use super::outcome::{Outcome, counted};
use crate::cli::failure::Failure;
use crate::cli::out::{COLUMNS, table_text};
use crate::cli::site::{Opened, Site};
use crate::setout::columns::{Gap, columns};
use crate::setout::courses::courses;
use crate::setout::of_job::{building_of, run_of, set_out_of};
use crate::setout::panels::{Notch, Piece, SetOut};
use crate::units::number::show;

/// Every piece of a wall: rip, notches, area, cut edge
#[derive(Debug, Args)]
#[command(after_help = "\
Columns and courses are those kept in the job's record, or else worked out from the job; the range of starts is that \
of the starter line in the record.

Example: cladlog calc panels --wall N")]
pub struct PanelsArgs {
    /// The wall
    #[arg(long, value_name = "KEY")]
    wall: String,
    /// Keep inputs and result in the job's record
    #[arg(long)]
    keep: bool,
}

pub fn panels(args: &PanelsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let set_out = set_out(&site.open()?, &args.wall)?;
    let panels = crate::setout::panels::panels(&set_out).map_err(Failure::input)?;
    let notch = |n: &Notch| {
        let [length, height, left, bottom] = [n.length_mm, n.height_mm, n.from_left_mm, n.from_bottom_mm].map(show);
        format!("{length} x {height} at {left}, {bottom}")
    };
    let row = |piece: &Piece| {
        vec![
            piece.label.clone(),
            show(piece.length_mm),
            show(piece.height_mm),
            if piece.ripped { "rip" } else { "" }.to_owned(),
            piece.notches.iter().map(notch).collect::<Vec<_>>().join("; "),
            show(piece.cut_edge_m),
        ]
    };
    let rows: Vec<Vec<String>> = panels.pieces.iter().map(row).collect();
    let heading = ["piece", "length mm", "height mm", "", "notch: length x height at left, bottom", "cut edge m"];
    let text = format!(
        "{}\n\n{}, {} m², {} m of cut edge to seal.",
        table_text(&heading, &rows, COLUMNS),
        counted(rows.len(), "piece"),
        show(panels.area_m2),
        show(panels.cut_edge_m)
    );
    let on = args.keep.then_some(args.wall.as_str());
    Outcome::new(&panels, text)?.keep(on, "panels", &set_out, &panels)
}

/// The wall set out: by the plans that the job has kept, or else as its geometry gives them.
pub fn set_out(opened: &Opened, wall: &str) -> Result<SetOut, Failure> {
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
            let (range, overhang) = starter_line(opened, None, None, None)?;
            let all = courses(&building_of(&state.job, range, overhang)?).map_err(Failure::input)?;
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
