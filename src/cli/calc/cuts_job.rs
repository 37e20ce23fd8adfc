//! `cladlog calc cuts` on the job's own walls: wall by wall, or all at once.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use serde::Serialize;

use super::bound::{keep_all, to_keep};
use super::cuts::{CutsArgs, print_sums, write_sheet};
use super::panels::set_out;
use crate::cli::site::{Opened, Site};
use crate::cli::{Failure, Out};
use crate::materials::cuts::{
    self, Board, CutPlan, CutRequest, JobCuts, Offcut, Piece, SheetSection, Total, WallCuts, WallPieces,
};
use crate::materials::of_job::{pieces_of, settings_of};
use crate::setout::of_job::JobError;
use crate::setout::panels::panels;
use crate::units::number::show;

/// Walls to be cut, with what the saw does besides.
pub(super) struct Sawing {
    pub settings: CutRequest,
    pub walls: Vec<WallPieces>,
    pub notes: BTreeMap<String, String>,
}

/// What the command prints as JSON: the plan as of a file, and what is of the walls.
#[derive(Serialize)]
struct Told<'c> {
    #[serde(flatten)]
    plan: CutPlan,
    planned: &'static str,
    walls: &'c [WallCuts],
    by_wall: Total,
    whole_job: Total,
}

/// What went in, as the record keeps it.
#[derive(Serialize)]
struct Inputs<'c> {
    stock_mm: &'c [u32],
    kerf_mm: f64,
    square_mm: f64,
    bundle: u32,
    offcut_mm: f64,
    seconds: f64,
    pieces: Vec<InputPiece<'c>>,
    #[serde(skip_serializing_if = "<[Offcut]>::is_empty")]
    offcuts: &'c [Offcut],
}

#[derive(Serialize)]
struct InputPiece<'c> {
    label: &'c str,
    length_mm: u32,
    count: u32,
}

/// Runs the sum on the job and prints it.
///
/// # Errors
/// [`Failure::Input`] when the job does not say enough, or a piece is longer than any stock.
pub fn run(args: &CutsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let state = &opened.book.state;
    let keys = if args.whole_job { all_walls(&opened) } else { walls_named(&opened, &args.wall)? };
    let panel = state.job.panel.as_ref().ok_or(JobError::NoPanel)?;
    let sawing = sawing(&opened, &keys, args.settings(settings_of(panel))?, args.whole_job)?;
    let plans = plan(&sawing)?;
    let (shown, total) = match args.whole_job {
        true => (std::slice::from_ref(&plans.whole), plans.whole.plan.clone()),
        false => (plans.by_wall.as_slice(), plans.together(sawing.settings.bundle)),
    };
    if let Some(file) = &args.sheet {
        let sections = shown.iter().map(|cuts| section(&opened, cuts, &sawing)).collect::<Result<Vec<_>, _>>()?;
        write_sheet(file, &state.job.name, &sawing.settings, &sections)?;
    }
    for (wall, offcut) in state.plans_depending_on(&keys) {
        out.say(format!("The plan kept for {wall} uses offcut {offcut} of an earlier plan: plan {wall} again."));
    }
    if args.keep {
        let all: Vec<Piece> = sawing.walls.iter().flat_map(|wall| wall.pieces.iter().cloned()).collect();
        let mut kept = Vec::with_capacity(shown.len());
        for (place, cuts) in shown.iter().enumerate() {
            let pieces = if args.whole_job { &all } else { &sawing.walls[place].pieces };
            kept.push(to_keep("cuts", &cuts.wall, &inputs(&sawing.settings, pieces, &cuts.offcuts_before), cuts)?);
        }
        keep_all(site, &kept, out)?;
    }
    let told = Told {
        plan: total,
        planned: if args.whole_job { "whole_job" } else { "by_wall" },
        walls: shown,
        by_wall: plans.by_wall_total(),
        whole_job: plans.whole_total(),
    };
    if out.is_json() { out.json(&told) } else { print(&told, sawing.walls.len(), out) }
}

/// Every wall, in building order.
pub(super) fn all_walls(opened: &Opened) -> Vec<String> {
    opened.book.state.job.walls.iter().map(|wall| wall.key.clone()).collect()
}

/// The walls named, once each, in building order.
pub(super) fn walls_named(opened: &Opened, named: &[String]) -> Result<Vec<String>, Failure> {
    let job = &opened.book.state.job;
    if let Some(unknown) = named.iter().find(|key| job.wall(key).is_none()) {
        let known: Vec<&str> = job.walls.iter().map(|wall| wall.key.as_str()).collect();
        let what = format!("there is no wall '{}' on this job", crate::units::number::shortened(unknown));
        return Err(Failure::input_hint(what, format!("the walls are {}", known.join(", "))));
    }
    Ok(all_walls(opened).into_iter().filter(|key| named.contains(key)).collect())
}

/// The pieces of some walls, and the offcuts that kept plans leave for each.
pub(super) fn sawing(opened: &Opened, keys: &[String], settings: CutRequest, afresh: bool) -> Result<Sawing, Failure> {
    let mut found = if afresh { Vec::new() } else { opened.book.state.offcuts_found(keys) }.into_iter();
    let mut walls = Vec::with_capacity(keys.len());
    let mut notes = BTreeMap::new();
    for key in keys {
        let counted = panels(&set_out(opened, key)?);
        let counted = counted.map_err(|error| Failure::input(format!("wall {key}: {error}")))?;
        let (pieces, saw) = pieces_of(key, &counted);
        notes.extend(saw);
        walls.push(WallPieces { wall: key.clone(), pieces, found: found.next().unwrap_or_default() });
    }
    Ok(Sawing { settings, walls, notes })
}

/// Plans within the time box.
pub(super) fn plan(sawing: &Sawing) -> Result<JobCuts, Failure> {
    let begun = Instant::now();
    let until = Duration::from_secs_f64(sawing.settings.seconds);
    cuts::plan_walls(&sawing.walls, &sawing.settings, &|| begun.elapsed() >= until).map_err(Failure::input)
}

fn inputs<'c>(settings: &'c CutRequest, pieces: &'c [Piece], offcuts: &'c [Offcut]) -> Inputs<'c> {
    let piece = |piece: &'c Piece| InputPiece { label: &piece.label, length_mm: piece.length_mm, count: piece.count };
    Inputs {
        stock_mm: &settings.stock_mm,
        kerf_mm: settings.kerf_mm,
        square_mm: settings.square_mm,
        bundle: settings.bundle,
        offcut_mm: settings.offcut_mm,
        seconds: settings.seconds,
        pieces: pieces.iter().map(piece).collect(),
        offcuts,
    }
}

fn section(opened: &Opened, cuts: &WallCuts, sawing: &Sawing) -> Result<SheetSection, Failure> {
    let note = |label: &str| sawing.notes.get(label).cloned().unwrap_or_default();
    let settings = &sawing.settings;
    let boards = cuts::cut_sheet(&cuts.plan, settings.kerf_mm, settings.offcut_mm, Some(&cuts.wall), &note);
    let title = match opened.book.state.job.wall(&cuts.wall) {
        Some(wall) => format!("Wall {}: {}", wall.key, wall.name),
        None => "All walls".to_owned(),
    };
    Ok(SheetSection { title, boards: boards.map_err(Failure::input)? })
}

fn print(told: &Told<'_>, walls: usize, out: &mut Out) -> Result<(), Failure> {
    for cuts in told.walls {
        let what = if cuts.wall == "job" { "All walls".to_owned() } else { format!("Wall {}", cuts.wall) };
        let from = match cuts.plan.from_offcuts.len() {
            0 => String::new(),
            1 => " and 1 offcut".to_owned(),
            count => format!(" and {count} offcuts"),
        };
        out.line(format!("{what}: {} boards{from}", cuts.plan.boards))?;
        let heading = ["boards", "stock mm", "offcut mm", "lengths cut from each"];
        out.table(&heading, &alike(&cuts.plan))?;
        out.line("")?;
    }
    print_sums(&told.plan, out)?;
    if walls > 1 {
        let said = |total: &Total| {
            let proved = if total.proven { "proved least" } else { "not proved least" };
            format!("{} boards, {} mm, {proved}", total.boards, total.bought_mm)
        };
        out.line(format!("Wall by wall  {}", said(&told.by_wall)))?;
        out.line(format!("All at once   {}", said(&told.whole_job)))?;
    }
    out.line("Labels, rips and notches stand on the sheet for the saw: --sheet FILE.html")
}

/// Boards whose lengths are the same, whatever the labels: `(how many, stock, offcut, lengths)`.
fn alike(plan: &CutPlan) -> Vec<Vec<String>> {
    let mut rows: Vec<(u32, Vec<String>)> = Vec::new();
    for board in plan.in_order() {
        let (stock, pieces) = match board {
            Board::Bought(pattern) => (pattern.stock_mm.to_string(), &pattern.pieces),
            Board::Offcut(cut) => (format!("{} {}", cut.offcut, show(cut.length_mm)), &cut.pieces),
        };
        let lengths: Vec<u32> = pieces.iter().map(|piece| piece.length_mm).collect();
        let words: Vec<String> = lengths
            .chunk_by(|a, b| a == b)
            .map(|same| if same.len() == 1 { same[0].to_string() } else { format!("{} x {}", same.len(), same[0]) })
            .collect();
        let row = vec![stock, show(board.offcut_mm()), words.join(", ")];
        match rows.iter_mut().find(|held| held.1 == row) {
            Some(held) => held.0 += 1,
            None => rows.push((1, row)),
        }
    }
    rows.into_iter().map(|(count, row)| std::iter::once(count.to_string()).chain(row).collect()).collect()
}
