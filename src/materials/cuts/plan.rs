//! The cut plan as a value: patterns with their labels, what is bought, kept and wasted.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::price::Parts;
use super::problem::Load;
use super::request::{Checked, CutRequest};
use crate::units::number::total;

/// A cut plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    /// Earlier offcuts that are used up, in cutting order: they go before any board.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub from_offcuts: Vec<OffcutCut>,
    /// Offcuts that are long enough to keep, together.
    pub kept_mm: f64,
    /// Length bought less the length of the pieces: offcuts, kept ones too, and kerf. 0 when earlier offcuts gave
    /// more than all of that.
    pub waste_mm: u64,
    /// What to order.
    pub bundles: Vec<Bundles>,
}

/// Boards that are cut alike, down to the labels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutPattern {
    /// How many boards.
    pub times: u32,
    /// The length of the board.
    pub stock_mm: u32,
    /// What is cut from it, in cutting order.
    pub pieces: Vec<PieceCut>,
    /// What is left: the board less every piece and its cut, never below 0.
    pub offcut_mm: f64,
}

/// An earlier offcut that is cut up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OffcutCut {
    /// What is written on it.
    pub offcut: String,
    /// Its length.
    pub length_mm: f64,
    /// What is cut from it, in cutting order.
    pub pieces: Vec<PieceCut>,
    /// What is left of it, never below 0.
    pub offcut_mm: f64,
}

/// One board or offcut of a plan, in cutting order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Board<'p> {
    /// A board that is bought.
    Bought(&'p CutPattern),
    /// An offcut that was there.
    Offcut(&'p OffcutCut),
}

impl Board<'_> {
    /// What is left of it.
    pub fn offcut_mm(&self) -> f64 {
        match self {
            Self::Bought(pattern) => pattern.offcut_mm,
            Self::Offcut(offcut) => offcut.offcut_mm,
        }
    }
}

impl CutPlan {
    /// Board by board in cutting order, offcuts first: what number 1, 2, 3 on the sheet is.
    pub fn in_order(&self) -> impl Iterator<Item = Board<'_>> {
        let bought = self.patterns.iter().flat_map(|pattern| (0..pattern.times).map(move |_| Board::Bought(pattern)));
        self.from_offcuts.iter().map(Board::Offcut).chain(bought)
    }
}

/// What is written on the offcut of a board: `N/B12`.
pub(super) fn offcut_id(wall: &str, number: u64) -> String {
    format!("{wall}/B{number}")
}

impl CutPattern {
    /// The pieces as read out at the saw: `2 x 900 (A1), 600 (B2)`.
    pub fn in_words(&self) -> String {
        read_out(&self.pieces)
    }
}

impl OffcutCut {
    /// The pieces as read out at the saw.
    pub fn in_words(&self) -> String {
        read_out(&self.pieces)
    }
}

fn read_out(pieces: &[PieceCut]) -> String {
    let mut words: Vec<String> = Vec::new();
    for same in pieces.chunk_by(|a, b| a == b) {
        let piece = &same[0];
        let each = format!("{} ({})", piece.length_mm, piece.label);
        words.push(if same.len() == 1 { each } else { format!("{} x {each}", same.len()) });
    }
    words.join(", ")
}

/// One piece on a board.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceCut {
    /// What is written on it.
    pub label: String,
    /// Its length.
    pub length_mm: u32,
}

/// Bundles of one stock length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
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
    let mut hand_out = HandOut {
        lengths: &checked.length_mm,
        queues: checked.labels.iter().map(|labels| Queue::of(labels)).collect(),
    };
    let kinds = checked.stock_mm.len();
    // Offcuts are cut up first, and so take the first labels.
    let mut from_offcuts = Vec::new();
    let mut unused: Vec<std::slice::Iter<'_, usize>> = checked.offcuts.iter().map(|alike| alike.iter()).collect();
    for (&(stock, parts), &times) in alike.iter().filter(|((stock, _), _)| *stock >= kinds) {
        for _ in 0..times {
            let Some(offcut) = unused[stock - kinds].next().and_then(|&number| request.offcuts.get(number)) else {
                break;
            };
            let tenths = (offcut.length_mm * 10.0 + 1e-6).floor() as u64;
            from_offcuts.push(OffcutCut {
                offcut: offcut.id.clone(),
                length_mm: offcut.length_mm,
                pieces: hand_out.pieces(parts, 1),
                offcut_mm: tenths.saturating_sub(checked.cut(parts)) as f64 / 10.0,
            });
        }
    }
    let mut patterns = Vec::new();
    let mut by_stock: BTreeMap<usize, u64> = BTreeMap::new();
    for ((stock, parts), times) in alike.into_iter().filter(|((stock, _), _)| *stock < kinds) {
        *by_stock.entry(stock).or_insert(0) += u64::from(times);
        let stock_mm = checked.stock_mm[stock];
        let usable = u64::from(stock_mm) * 10 - checked.square_tenths;
        let offcut_mm = usable.saturating_sub(checked.cut(parts)) as f64 / 10.0;
        let mut left = times;
        while left > 0 {
            let same = hand_out.same(parts).unwrap_or(left).clamp(1, left);
            patterns.push(CutPattern { times: same, stock_mm, pieces: hand_out.pieces(parts, same), offcut_mm });
            left -= same;
        }
    }
    let unit = u64::from(checked.unit_mm);
    let bought_mm = by_stock.iter().map(|(&stock, &boards)| u64::from(checked.stock_mm[stock]) * boards).sum();
    let lower_bound_mm = (bound * unit).min(bought_mm);
    let pieces_mm: u64 =
        checked.length_mm.iter().zip(&checked.problem.demand).map(|(&l, &d)| u64::from(l) * u64::from(d)).sum();
    let used_mm: f64 = from_offcuts.iter().map(|offcut| offcut.length_mm).sum();
    let kept = patterns.iter().filter(|pattern| pattern.offcut_mm >= request.offcut_mm);
    let kept_again = from_offcuts.iter().map(|offcut| offcut.offcut_mm).filter(|left| *left >= request.offcut_mm);
    CutPlan {
        boards: by_stock.values().sum(),
        bought_mm,
        lower_bound_mm,
        proven: lower_bound_mm == bought_mm,
        kept_mm: total(kept.map(|pattern| pattern.offcut_mm * f64::from(pattern.times)).chain(kept_again)),
        waste_mm: (bought_mm + used_mm as u64).saturating_sub(pieces_mm),
        bundles: by_stock
            .into_iter()
            .map(|(stock, boards)| Bundles {
                stock_mm: checked.stock_mm[stock],
                bundles: boards.div_ceil(u64::from(request.bundle.max(1))),
            })
            .collect(),
        patterns,
        from_offcuts,
    }
}

/// The labels that wait for their pieces, size by size.
struct HandOut<'a> {
    lengths: &'a [u32],
    queues: Vec<Queue<'a>>,
}

impl HandOut<'_> {
    /// On how many boards with these parts running the same labels can be put.
    fn same(&self, parts: &Parts) -> Option<u32> {
        parts.iter().map(|&(size, copies)| self.queues[size].same(copies)).min()
    }

    /// The pieces of one board, labels taken for `times` boards alike.
    fn pieces(&mut self, parts: &Parts, times: u32) -> Vec<PieceCut> {
        let mut pieces = Vec::new();
        for &(size, copies) in parts {
            for (label, count) in self.queues[size].take(copies, times) {
                let piece = PieceCut { label: label.to_owned(), length_mm: self.lengths[size] };
                pieces.extend(std::iter::repeat_n(piece, count as usize));
            }
        }
        pieces
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
