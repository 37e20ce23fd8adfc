//! A job cut wall by wall: each wall starts from the offcuts that the walls before it left.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::plan::{Bundles, CutPlan, OffcutCut, offcut_id};
use super::request::{CutError, CutRequest, Offcut, Piece};
use super::sheet::MOST_SHEET_BOARDS;
use super::solve::plan_cuts;
use crate::form::InRow;
use crate::units::number::{self, show};

/// A wall that is to be cut.
#[derive(Debug, Clone, PartialEq)]
pub struct WallPieces {
    /// Its key.
    pub wall: String,
    /// Its pieces.
    pub pieces: Vec<Piece>,
    /// Offcuts that came to be since the wall before it was cut, such as those of walls that were planned earlier.
    pub found: Vec<Offcut>,
}

/// The cut plan of one wall, or of a whole job at once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WallCuts {
    /// The wall's key; `job` for all walls at once.
    pub wall: String,
    /// The plan.
    #[serde(flatten)]
    pub plan: CutPlan,
    /// The offcuts that were there before its first cut.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub offcuts_before: Vec<Offcut>,
    /// Those that are there after its last: unused ones, and its own. Each bears the board that it was cut from.
    pub offcuts_left: Vec<Offcut>,
}

/// What a way of cutting comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Total {
    /// Boards bought.
    pub boards: u64,
    /// Their length together.
    pub bought_mm: u64,
    /// No plan buys less than this, whichever way.
    pub lower_bound_mm: u64,
    /// Whether none does.
    pub proven: bool,
}

/// Both ways of cutting some walls.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCuts {
    /// Wall by wall, in building order.
    pub by_wall: Vec<WallCuts>,
    /// All of them at once: what is cut for a later wall waits for it.
    pub whole: WallCuts,
    /// A bound that holds for both.
    pub lower_bound_mm: u64,
}

/// Why some walls can't be cut.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WallError {
    /// No wall.
    #[error("there is no wall to cut")]
    NoWall,
    /// One wall can't be cut.
    #[error("wall {wall}: {error}")]
    Wall {
        /// The wall's key.
        wall: String,
        /// Why not.
        error: InRow<CutError>,
    },
    /// All at once are too many.
    #[error("all walls at once: {0}")]
    Whole(InRow<CutError>),
}

/// Plans some walls one after the other, in the order in which they are built.
///
/// `settings` says what they are cut from; its pieces and offcuts are not looked at. Each wall is planned as in
/// [`plan_cuts`], with the offcuts that are there by then: those found before it and those of at least
/// `settings.offcut_mm` that the walls before it leave. So no offcut is used before the board that it comes from is cut.
/// The time box is shared out evenly.
///
/// # Errors
/// [`WallError`] naming the wall.
pub fn plan_by_wall(
    walls: &[WallPieces],
    settings: &CutRequest,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<WallCuts>, WallError> {
    by_wall(walls, settings, settings.seconds / walls.len().max(1) as f64, stop)
}

fn request(pieces: Vec<Piece>, offcuts: Vec<Offcut>, settings: &CutRequest, seconds: f64) -> CutRequest {
    CutRequest { pieces, offcuts, seconds, ..settings.clone() }
}

fn by_wall(
    walls: &[WallPieces],
    settings: &CutRequest,
    seconds: f64,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<WallCuts>, WallError> {
    let mut by_wall: Vec<WallCuts> = Vec::with_capacity(walls.len());
    let mut there: Vec<Offcut> = Vec::new();
    for wall in walls {
        there.extend(wall.found.iter().cloned());
        let asked = request(wall.pieces.clone(), there.clone(), settings, seconds);
        let plan = plan_cuts(&asked, stop).map_err(|error| WallError::Wall { wall: wall.wall.clone(), error })?;
        let cuts = WallCuts::of(&wall.wall, plan, there, settings.offcut_mm);
        there = cuts.offcuts_left.clone();
        by_wall.push(cuts);
    }
    Ok(by_wall)
}

/// Plans some walls both one after the other, as [`plan_by_wall`], and all at once; the plans share the time box.
///
/// # Errors
/// [`WallError`] naming the wall.
pub fn plan_walls(walls: &[WallPieces], settings: &CutRequest, stop: &dyn Fn() -> bool) -> Result<JobCuts, WallError> {
    let (first, later) = walls.split_first().ok_or(WallError::NoWall)?;
    let found_later = later.iter().any(|wall| !wall.found.is_empty());
    let at_once = if later.is_empty() { 0 } else { 1 + usize::from(found_later) };
    let seconds = settings.seconds / (walls.len() + at_once) as f64;
    let by_wall = by_wall(walls, settings, seconds, stop)?;
    if let [only] = by_wall.as_slice() {
        let lower_bound_mm = only.plan.lower_bound_mm;
        return Ok(JobCuts { whole: only.clone(), lower_bound_mm, by_wall });
    }
    let pieces: Vec<Piece> = walls.iter().flat_map(|wall| wall.pieces.iter().cloned()).collect();
    let asked = request(pieces, first.found.clone(), settings, seconds);
    let plan = plan_cuts(&asked, stop).map_err(WallError::Whole)?;
    let mut lower_bound_mm = plan.lower_bound_mm;
    if found_later {
        // What is found later can help later walls only: a bound for the walls in turn has to allow for all of it.
        let found = walls.iter().flat_map(|wall| wall.found.iter().cloned()).collect();
        lower_bound_mm =
            plan_cuts(&CutRequest { offcuts: found, ..asked }, stop).map_err(WallError::Whole)?.lower_bound_mm;
    }
    let whole = WallCuts::of("job", plan, first.found.clone(), settings.offcut_mm);
    Ok(JobCuts { by_wall, whole, lower_bound_mm })
}

impl WallCuts {
    fn of(wall: &str, plan: CutPlan, before: Vec<Offcut>, least_mm: f64) -> Self {
        let used = |offcut: &Offcut| plan.from_offcuts.iter().any(|cut| cut.offcut == offcut.id);
        let mut left: Vec<Offcut> = before.iter().filter(|offcut| !used(offcut)).cloned().collect();
        // Beyond a sheet's length nobody tells offcuts apart.
        for (number, board) in (1..=MOST_SHEET_BOARDS).zip(plan.in_order()) {
            let length_mm = board.offcut_mm();
            if length_mm > 0.0 && length_mm >= least_mm {
                left.push(Offcut { id: offcut_id(wall, number), length_mm });
            }
        }
        Self { wall: wall.to_owned(), plan, offcuts_before: before, offcuts_left: left }
    }

    /// The earlier offcuts that it uses up, by what is written on them.
    pub fn offcuts_used(&self) -> Vec<String> {
        self.plan.from_offcuts.iter().map(|cut| cut.offcut.clone()).collect()
    }

    /// "N/B12 640", for each offcut that is left.
    pub fn offcuts_left_in_words(&self) -> Vec<String> {
        self.offcuts_left.iter().map(|offcut| format!("{} {}", offcut.id, show(offcut.length_mm))).collect()
    }
}

impl JobCuts {
    /// What cutting wall by wall comes to.
    pub fn by_wall_total(&self) -> Total {
        let sum = |of: fn(&CutPlan) -> u64| self.by_wall.iter().map(|wall| of(&wall.plan)).sum::<u64>();
        self.total(sum(|plan| plan.boards), sum(|plan| plan.bought_mm))
    }

    /// What cutting all at once comes to.
    pub fn whole_total(&self) -> Total {
        let plan = &self.whole.plan;
        let proven = plan.proven;
        Total { boards: plan.boards, bought_mm: plan.bought_mm, lower_bound_mm: plan.lower_bound_mm, proven }
    }

    fn total(&self, boards: u64, bought_mm: u64) -> Total {
        let lower_bound_mm = self.lower_bound_mm.min(bought_mm);
        Total { boards, bought_mm, lower_bound_mm, proven: lower_bound_mm == bought_mm }
    }

    /// All walls in one plan, as if it were one: what is bought for them together, bundles shared.
    pub fn together(&self, bundle: u32) -> CutPlan {
        let total = self.by_wall_total();
        let mut boards: BTreeMap<std::cmp::Reverse<u32>, u64> = BTreeMap::new();
        let mut patterns = Vec::new();
        let mut from_offcuts = Vec::new();
        for wall in &self.by_wall {
            for pattern in &wall.plan.patterns {
                *boards.entry(std::cmp::Reverse(pattern.stock_mm)).or_insert(0) += u64::from(pattern.times);
            }
            patterns.extend(wall.plan.patterns.iter().cloned());
            from_offcuts.extend(wall.plan.from_offcuts.iter().cloned());
        }
        let pieces: u64 = patterns
            .iter()
            .map(|pattern| (&pattern.pieces, pattern.times))
            .chain(from_offcuts.iter().map(|offcut: &OffcutCut| (&offcut.pieces, 1)))
            .map(|(pieces, times)| pieces.iter().map(|p| u64::from(p.length_mm)).sum::<u64>() * u64::from(times))
            .sum();
        // Offcuts of these walls that are used on a later one are no loss, and were bought once.
        let earlier: f64 = from_offcuts
            .iter()
            .filter(|cut: &&OffcutCut| {
                !self.by_wall.iter().any(|wall| cut.offcut.starts_with(&format!("{}/B", wall.wall)))
            })
            .map(|cut| cut.length_mm)
            .sum();
        CutPlan {
            boards: total.boards,
            bought_mm: total.bought_mm,
            lower_bound_mm: total.lower_bound_mm,
            proven: total.proven,
            kept_mm: number::total(
                self.by_wall.last().iter().flat_map(|wall| &wall.offcuts_left).map(|offcut| offcut.length_mm),
            ),
            waste_mm: (total.bought_mm + earlier as u64).saturating_sub(pieces),
            bundles: boards
                .into_iter()
                .map(|(stock, boards)| Bundles {
                    stock_mm: stock.0,
                    bundles: boards.div_ceil(u64::from(bundle.max(1))),
                })
                .collect(),
            patterns,
            from_offcuts,
        }
    }
}
