//! Cut plans of the job's own walls: wall by wall, or all at once.

use std::collections::BTreeMap;

use serde::Serialize;

use super::cut_options::{CutOptions, time_limit, totals};
use super::outcome::Outcome;
use crate::building::{Job, Wall};
use crate::cli::failure::Failure;
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Opened;
use crate::materials::cuts::{
    Board, CutPlan, CutRequest, Piece, SheetSection, Total, WallCuts, WallPieces, cut_sheet, plan_by_wall, plan_walls,
};
use crate::materials::of_job::{RIPPED, pieces_of, settings_of};
use crate::plain::count;
use crate::setout::of_job::{JobError, taken_as_nothing};
use crate::setout::panels::panels;
use crate::units::number::{shortened, show};

/// Walls to be cut, with what the saw does besides.
pub struct Sawing {
    pub settings: CutRequest,
    walls: Vec<WallPieces>,
    notes: BTreeMap<String, String>,
}

/// The plan as of a file, and what is of the walls.
#[derive(Serialize)]
pub struct WallPlans {
    #[serde(flatten)]
    plan: CutPlan,
    planned: &'static str,
    walls: Vec<WallCuts>,
    by_wall: Total,
    whole_job: Total,
    #[serde(skip)]
    pub job: Job,
    #[serde(skip)]
    pub sawing: Sawing,
    /// Plans in the record that lean on what is planned again.
    #[serde(skip)]
    pub remarks: Vec<String>,
}

/// Plans these walls one after the other, or all of the job at once.
pub fn plan_job(walls: Option<&[String]>, options: &CutOptions, opened: &Opened) -> Result<WallPlans, Failure> {
    let state = &opened.book.state;
    let keys = match walls {
        Some(named) => walls_named(opened, named)?,
        None => all_walls(opened),
    };
    let panel = state.job.panel.as_ref().ok_or(JobError::NoPanel)?;
    let sawing = sawing(opened, &keys, options.settings(settings_of(panel)), walls.is_none())?;
    let stop = time_limit(sawing.settings.seconds);
    let plans = plan_walls(&sawing.walls, &sawing.settings, &stop).map_err(Failure::input)?;
    let (by_wall, whole_job) = (plans.by_wall_total(), plans.whole_total());
    let (planned, plan, walls) = match walls {
        Some(_) => ("by_wall", plans.together(sawing.settings.bundle), plans.by_wall),
        None => ("whole_job", plans.whole.plan.clone(), vec![plans.whole]),
    };
    let lean = |(wall, offcut)| {
        format!("The plan kept for {wall} uses offcut {offcut} of an earlier plan: plan {wall} again.")
    };
    let taken = |wall: &Wall| Some(wrapped(&format!("Wall {}: {}", wall.key, taken_as_nothing(&state.job, wall)?), 2));
    let taken = state.job.walls.iter().filter(|wall| keys.contains(&wall.key)).filter_map(taken);
    let remarks = state.plans_depending_on(&keys).into_iter().map(lean).chain(taken).collect();
    Ok(WallPlans { plan, planned, walls, by_wall, whole_job, job: state.job.clone(), sawing, remarks })
}

impl WallPlans {
    /// Keeps each plan for its wall, or the one for the job.
    pub fn keep(&self, outcome: Outcome) -> Result<Outcome, Failure> {
        let all: Vec<Piece> = self.sawing.walls.iter().flat_map(|wall| wall.pieces.iter().cloned()).collect();
        self.walls.iter().enumerate().try_fold(outcome, |outcome, (place, cuts)| {
            let pieces = if self.planned == "whole_job" { &all } else { &self.sawing.walls[place].pieces };
            let (pieces, offcuts) = (pieces.clone(), cuts.offcuts_before.clone());
            let request = CutRequest { pieces, offcuts, ..self.sawing.settings.clone() };
            outcome.keep_for(Some(&cuts.wall), &request, cuts)
        })
    }

    /// The sheet for the saw, a section a plan.
    pub fn sections(&self) -> Result<Vec<SheetSection>, Failure> {
        let note = |label: &str| self.sawing.notes.get(label).cloned().unwrap_or_default();
        let settings = &self.sawing.settings;
        let section = |cuts: &WallCuts| {
            let boards = cut_sheet(&cuts.plan, settings.kerf_mm, settings.offcut_mm, Some(&cuts.wall), &note);
            let wall = self.job.wall(&cuts.wall);
            let title = wall.map_or_else(|| "All walls".to_owned(), |wall| format!("Wall {}: {}", wall.key, wall.name));
            Ok(SheetSection { title, boards: boards.map_err(Failure::input)? })
        };
        self.walls.iter().map(section).collect()
    }

    /// The plans for people.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for cuts in &self.walls {
            let what = if cuts.wall == "job" { "All walls".to_owned() } else { format!("Wall {}", cuts.wall) };
            let bought = boards(cuts.plan.boards);
            let from = match cuts.plan.from_offcuts.len() {
                0 => String::new(),
                some => format!(" and {}", count(some, "offcut")),
            };
            let heading = ["boards", "stock mm", "offcut mm", "lengths cut from each"];
            text += &format!("{what}: {bought}{from}\n{}\n\n", table_text(heading, alike(&cuts.plan)));
        }
        text += &(totals(&self.plan) + "\n");
        if self.sawing.walls.len() > 1 {
            let line = |name: &str, total: &Total| {
                let proved = if total.proven { "proven least" } else { "not proven least" };
                format!("{name:<13} {}, {} mm, {proved}\n", boards(total.boards), total.bought_mm)
            };
            text += &(line("Wall by wall", &self.by_wall) + &line("All at once", &self.whole_job));
        }
        let ripped = self.sawing.notes.values().filter(|note| note.starts_with(RIPPED)).count();
        if ripped > 1 {
            text += "Counted by length: no two rips share the height of one board.\n";
        }
        text + "For labels, rips and notches, print the sheet for the saw: --sheet FILE.html"
    }
}

fn boards(boards: u64) -> String {
    count(usize::try_from(boards).unwrap_or(usize::MAX), "board")
}

/// Every wall, in building order.
pub fn all_walls(opened: &Opened) -> Vec<String> {
    opened.book.state.job.walls.iter().map(|wall| wall.key.clone()).collect()
}

/// The walls named, once each, in building order.
pub fn walls_named(opened: &Opened, named: &[String]) -> Result<Vec<String>, Failure> {
    let walls = all_walls(opened);
    if let Some(unknown) = named.iter().find(|key| !walls.contains(key)) {
        let what = format!("there is no wall '{}' on this job", shortened(unknown));
        return Err(Failure::input_hint(what, format!("the walls are {}", walls.join(", "))));
    }
    Ok(walls.into_iter().filter(|key| named.contains(key)).collect())
}

/// The pieces of some walls, and the offcuts that kept plans leave for each.
pub fn sawing(opened: &Opened, keys: &[String], settings: CutRequest, afresh: bool) -> Result<Sawing, Failure> {
    let mut found = if afresh { Vec::new() } else { opened.book.state.offcuts_found(keys) }.into_iter();
    let mut sawing = Sawing { settings, walls: Vec::with_capacity(keys.len()), notes: BTreeMap::new() };
    for key in keys {
        let counted = panels(&opened.book.state.set_out(key)?);
        let counted = counted.map_err(|error| Failure::input(format!("wall {key}: {error}")))?;
        let (pieces, notes) = pieces_of(key, &counted);
        sawing.notes.extend(notes);
        sawing.walls.push(WallPieces { wall: key.clone(), pieces, found: found.next().unwrap_or_default() });
    }
    Ok(sawing)
}

/// Cuts wall by wall within the time limit.
pub fn cut_by_wall(sawing: &Sawing) -> Result<Vec<WallCuts>, Failure> {
    plan_by_wall(&sawing.walls, &sawing.settings, &time_limit(sawing.settings.seconds)).map_err(Failure::input)
}

/// Boards whose lengths are the same, whatever the labels: how many, stock, offcut, lengths.
fn alike(plan: &CutPlan) -> Vec<[String; 4]> {
    let mut rows: Vec<(u32, [String; 3])> = Vec::new();
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
        let row = [stock, show(board.offcut_mm()), words.join(", ")];
        match rows.iter_mut().find(|held| held.1 == row) {
            Some(held) => held.0 += 1,
            None => rows.push((1, row)),
        }
    }
    rows.into_iter().map(|(count, [stock, offcut, words])| [count.to_string(), stock, offcut, words]).collect()
}
