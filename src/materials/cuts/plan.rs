//! The cut plan as a value: patterns with their labels, what is bought, kept and wasted.

use std::collections::BTreeMap;

use serde::Serialize;

use super::price::Parts;
use super::problem::Load;
use super::request::{Checked, CutRequest};

/// A cut plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutPlan {
    /// How many boards.
    pub boards: u64,
    /// Their length together.
    pub bought_mm: u64,
    /// No plan buys less than this.
    pub lower_bound_mm: u64,
    /// Whether the length bought is proved least: then it equals the lower bound.
    pub proven: bool,
    /// Boards in cutting order: longest stock first, longest piece first.
    pub patterns: Vec<CutPattern>,
    /// Offcuts that are long enough to keep, together.
    pub kept_mm: f64,
    /// Length bought less the length of the pieces: offcuts, kept ones too, and kerf.
    pub waste_mm: u64,
    /// What to order.
    pub bundles: Vec<Bundles>,
}

/// Boards that are cut alike, down to the labels.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutPattern {
    /// How many boards.
    pub times: u32,
    /// The length of the board.
    pub stock_mm: u32,
    /// What is cut from it, in cutting order.
    pub pieces: Vec<PieceCut>,
    /// What is left: the board less every piece and its cut, not below nought.
    pub offcut_mm: f64,
}

impl CutPattern {
    /// The pieces as read out at the saw: `2 x 900 (A1), 600 (B2)`.
    pub fn in_words(&self) -> String {
        let mut words: Vec<String> = Vec::new();
        for same in self.pieces.chunk_by(|a, b| a == b) {
            let piece = &same[0];
            let each = format!("{} ({})", piece.length_mm, piece.label);
            words.push(if same.len() == 1 { each } else { format!("{} x {each}", same.len()) });
        }
        words.join(", ")
    }
}

/// One piece on a board.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PieceCut {
    /// What is written on it.
    pub label: String,
    /// Its length.
    pub length_mm: u32,
}

/// Bundles of one stock length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Bundles {
    /// The stock length.
    pub stock_mm: u32,
    /// Whole bundles that hold the boards needed.
    pub bundles: u64,
}

/// Hands the labels out to a plan and adds it up.
pub(super) fn lay_out(request: &CutRequest, checked: &Checked, loads: &[Load], bound: u64) -> CutPlan {
    let mut alike: BTreeMap<(usize, &Parts), u32> = BTreeMap::new();
    for load in loads {
        *alike.entry((load.stock, &load.parts)).or_insert(0) += load.times;
    }
    let mut queues: Vec<Queue> = checked.labels.iter().map(|labels| Queue::of(labels)).collect();
    let mut patterns = Vec::new();
    let mut by_stock: BTreeMap<usize, u64> = BTreeMap::new();
    for ((stock, parts), times) in alike {
        *by_stock.entry(stock).or_insert(0) += u64::from(times);
        let stock_mm = checked.stock_mm[stock];
        let cut: u64 = parts
            .iter()
            .map(|&(size, copies)| u64::from(copies) * (u64::from(checked.length_mm[size]) * 10 + checked.kerf_tenths))
            .sum();
        let offcut_mm = (u64::from(stock_mm) * 10).saturating_sub(cut) as f64 / 10.0;
        let mut left = times;
        while left > 0 {
            let same =
                parts.iter().map(|&(size, copies)| queues[size].same(copies)).min().unwrap_or(left).clamp(1, left);
            let mut pieces = Vec::new();
            for &(size, copies) in parts {
                for (label, count) in queues[size].take(copies, same) {
                    let piece = PieceCut { label: label.to_owned(), length_mm: checked.length_mm[size] };
                    pieces.extend(std::iter::repeat_n(piece, count as usize));
                }
            }
            patterns.push(CutPattern { times: same, stock_mm, pieces, offcut_mm });
            left -= same;
        }
    }
    let unit = u64::from(checked.unit_mm);
    let bought_mm = by_stock.iter().map(|(&stock, &boards)| u64::from(checked.stock_mm[stock]) * boards).sum();
    let lower_bound_mm = (bound * unit).min(bought_mm);
    let pieces_mm: u64 =
        checked.length_mm.iter().zip(&checked.problem.demand).map(|(&l, &d)| u64::from(l) * u64::from(d)).sum();
    let kept = patterns.iter().filter(|pattern| pattern.offcut_mm >= request.offcut_mm);
    CutPlan {
        boards: by_stock.values().sum(),
        bought_mm,
        lower_bound_mm,
        proven: lower_bound_mm == bought_mm,
        kept_mm: kept.map(|pattern| pattern.offcut_mm * f64::from(pattern.times)).sum(),
        waste_mm: bought_mm.saturating_sub(pieces_mm),
        bundles: by_stock
            .into_iter()
            .map(|(stock, boards)| Bundles {
                stock_mm: checked.stock_mm[stock],
                bundles: boards.div_ceil(u64::from(request.bundle.max(1))),
            })
            .collect(),
        patterns,
    }
}

/// Labels of one length that still wait for their pieces.
struct Queue<'a> {
    labels: &'a [(String, u32)],
    at: usize,
    taken: u32,
}

impl<'a> Queue<'a> {
    fn of(labels: &'a [(String, u32)]) -> Self {
        Self { labels, at: 0, taken: 0 }
    }

    /// On how many boards running the same labels can be put, `copies` pieces a board.
    fn same(&self, copies: u32) -> u32 {
        self.labels.get(self.at).map_or(1, |(_, count)| (count - self.taken) / copies.max(1)).max(1)
    }

    /// Takes the labels for `times` boards alike; gives those of one board.
    fn take(&mut self, copies: u32, times: u32) -> Vec<(&'a str, u32)> {
        let mut given = Vec::new();
        let mut wanted = copies;
        while wanted > 0 {
            let Some((label, count)) = self.labels.get(self.at) else { break };
            let left = count - self.taken;
            let take = wanted.min(left / times.max(1)).max(1);
            given.push((label.as_str(), take));
            self.taken += (take * times).min(left);
            wanted -= take;
            if self.taken == *count {
                self.at += 1;
                self.taken = 0;
            }
        }
        given
    }
}
