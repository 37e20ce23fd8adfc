//! Pricing: the pattern worth most that fits a board, by dynamic programming over whole lengths.
//!
//! Prices are whole numbers held in `f64` (all sums stay below 2^53), so every comparison is exact and the
//! loops run at the speed of floating point.

use std::collections::BTreeMap;

/// Minus infinity that may be added to.
const NEVER: f64 = -1e17;
/// Tables beyond this many cells (8 bytes each) are not built.
const MOST_CELLS: usize = 18_000_000;

/// Extra price of putting an item down at a place on the board: `(item, place) -> price`.
pub(super) type Places = BTreeMap<(usize, usize), f64>;

/// One pattern: the items on a board with their counts, longest item first.
pub(super) type Parts = Vec<(usize, u32)>;

/// The table, kept between runs for its memory.
#[derive(Default)]
pub(super) struct Pricer {
    table: Vec<f64>,
    stages: Vec<Stage>,
    width: usize,
    exact: bool,
}

#[derive(Clone, Copy)]
struct Stage {
    item: usize,
    copies: u32,
    shift: usize,
    gain: f64,
}

impl Pricer {
    /// Fills the table for items of these sizes and prices, at most `most` of each, on boards up to `room`.
    /// Gives the number of cells worked, or `None` when the table would be too large.
    pub(super) fn fill(
        &mut self,
        sizes: &[usize],
        prices: &[f64],
        most: &[u32],
        room: usize,
        places: &Places,
    ) -> Option<u64> {
        self.exact = !places.is_empty();
        self.width = room + 1;
        self.stages.clear();
        for item in 0..sizes.len() {
            let priced = prices[item] > 0.0 || places.range((item, 0)..=(item, usize::MAX)).any(|(_, &p)| p > 0.0);
            let mut left = most[item].min(u32::try_from(room / sizes[item]).unwrap_or(u32::MAX));
            let mut copies = 1;
            while priced && left > 0 {
                let take = copies.min(left);
                self.stages.push(Stage {
                    item,
                    copies: take,
                    shift: sizes[item] * take as usize,
                    gain: prices[item] * f64::from(take),
                });
                left -= take;
                copies *= 2;
            }
        }
        let cells = self.width.checked_mul(self.stages.len() + 1).filter(|&cells| cells <= MOST_CELLS)?;
        if self.table.len() < cells {
            self.table.resize(cells, 0.0);
        }
        self.table[..self.width].fill(if self.exact { NEVER } else { 0.0 });
        self.table[0] = 0.0;
        for number in 0..self.stages.len() {
            let stage = self.stages[number];
            let (done, rest) = self.table.split_at_mut((number + 1) * self.width);
            let before = &done[number * self.width..];
            let after = &mut rest[..self.width];
            after[..stage.shift].copy_from_slice(&before[..stage.shift]);
            let kept = &before[stage.shift..];
            let taken = &before[..self.width - stage.shift];
            for ((new, &keep), &take) in after[stage.shift..].iter_mut().zip(kept).zip(taken) {
                let with = take + stage.gain;
                *new = if with > keep { with } else { keep };
            }
            if self.exact {
                for start in affected(&stage, sizes[stage.item], places, self.width) {
                    let with = before[start] + stage.gain + extra(&stage, sizes[stage.item], start, places);
                    after[start + stage.shift] = before[start + stage.shift].max(with);
                }
            }
        }
        Some(cells as u64 / 2)
    }

    /// What the pattern worth most comes to on a board of `room`.
    pub(super) fn best(&self, room: usize) -> f64 {
        let last = self.stages.len() * self.width;
        if self.exact {
            self.table[last..=last + room].iter().copied().fold(NEVER, f64::max)
        } else {
            self.table[last + room]
        }
    }

    /// The pattern worth most on a board of `room`.
    pub(super) fn pattern(&self, room: usize, sizes: &[usize], places: &Places) -> Parts {
        let last = self.stages.len() * self.width;
        let best = self.best(room);
        let end = if self.exact { (0..=room).find(|&c| self.table[last + c] == best).unwrap_or(0) } else { room };
        self.trace(self.stages.len(), end, sizes, places, Parts::new())
    }

    /// For each stage the pattern worth most that ends with it: `(worth, stage)`. Without places only.
    pub(super) fn endings(&self, room: usize) -> Vec<(f64, usize)> {
        self.stages
            .iter()
            .enumerate()
            .filter(|(_, stage)| stage.shift <= room)
            .map(|(number, stage)| (stage.gain + self.table[number * self.width + room - stage.shift], number))
            .collect()
    }

    /// The pattern behind one of [`Pricer::endings`].
    pub(super) fn ending(&self, number: usize, room: usize, sizes: &[usize]) -> Parts {
        let stage = self.stages[number];
        self.trace(number, room - stage.shift, sizes, &Places::new(), vec![(stage.item, stage.copies)])
    }

    fn trace(&self, stages: usize, end: usize, sizes: &[usize], places: &Places, mut parts: Parts) -> Parts {
        let mut at = end;
        for number in (0..stages).rev() {
            let stage = self.stages[number];
            let here = self.table[(number + 1) * self.width + at];
            if here == self.table[number * self.width + at] || stage.shift > at {
                continue;
            }
            at -= stage.shift;
            debug_assert!(
                here == self.table[number * self.width + at]
                    + stage.gain
                    + extra(&stage, sizes[stage.item], at, places)
            );
            match parts.last_mut() {
                Some((item, copies)) if *item == stage.item => *copies += stage.copies,
                _ => parts.push((stage.item, stage.copies)),
            }
        }
        parts.reverse();
        parts
    }
}

/// Starts whose step by this stage passes a priced place.
fn affected(stage: &Stage, size: usize, places: &Places, width: usize) -> Vec<usize> {
    let mut starts = Vec::new();
    for (&(_, place), _) in places.range((stage.item, 0)..=(stage.item, usize::MAX)) {
        for copy in 0..stage.copies as usize {
            if let Some(start) = place.checked_sub(copy * size).filter(|start| start + stage.shift < width) {
                starts.push(start);
            }
        }
    }
    starts
}

fn extra(stage: &Stage, size: usize, start: usize, places: &Places) -> f64 {
    if places.is_empty() {
        return 0.0;
    }
    (0..stage.copies as usize).filter_map(|copy| places.get(&(stage.item, start + copy * size))).sum()
}
