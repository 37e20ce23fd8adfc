//! Pricing: the pattern worth most that fits a board, by dynamic programming over whole lengths.
//!
//! Prices are whole numbers held in `f64` (all sums stay below 2^53), so every comparison is exact and the
//! loops run at the speed of floating point.

/// Tables beyond this many cells (8 bytes each) are not built.
const MOST_CELLS: usize = 18_000_000;

/// One pattern: the sizes on a board with their counts, longest first.
pub(super) type Parts = Vec<(usize, u32)>;

/// The table, kept between runs for its memory.
#[derive(Default)]
pub(super) struct Pricer {
    table: Vec<f64>,
    stages: Vec<Stage>,
    width: usize,
}

/// Some copies of one size, taken or not: powers of two, so that few stages make any count.
#[derive(Clone, Copy)]
struct Stage {
    item: usize,
    copies: u32,
    shift: usize,
    gain: f64,
}

impl Pricer {
    /// Fills the table for these sizes and prices, at most `most` of each, on boards up to `room`.
    /// Gives the number of cells worked, or `None` when the table would be too large.
    pub(super) fn fill(&mut self, sizes: &[usize], prices: &[f64], most: &[u32], room: usize) -> Option<u64> {
        self.width = room + 1;
        self.stages.clear();
        for item in (0..sizes.len()).filter(|&item| prices[item] > 0.0) {
            let mut left = most[item].min(u32::try_from(room / sizes[item]).unwrap_or(u32::MAX));
            let mut copies = 1;
            while left > 0 {
                let take = copies.min(left);
                let (shift, gain) = (sizes[item] * take as usize, prices[item] * f64::from(take));
                self.stages.push(Stage { item, copies: take, shift, gain });
                left -= take;
                copies *= 2;
            }
        }
        let cells = self.width.checked_mul(self.stages.len() + 1).filter(|&cells| cells <= MOST_CELLS)?;
        if self.table.len() < cells {
            self.table.resize(cells, 0.0);
        }
        self.table[..self.width].fill(0.0);
        for number in 0..self.stages.len() {
            let stage = self.stages[number];
            let (done, rest) = self.table.split_at_mut((number + 1) * self.width);
            let before = &done[number * self.width..];
            let after = &mut rest[..self.width];
            after[..stage.shift].copy_from_slice(&before[..stage.shift]);
            let without = &before[stage.shift..];
            for ((new, &without), &below) in after[stage.shift..].iter_mut().zip(without).zip(before) {
                let with = below + stage.gain;
                *new = if with > without { with } else { without };
            }
        }
        Some(cells as u64 / 2)
    }

    /// What the best pattern on a board of `room` is worth.
    pub(super) fn best(&self, room: usize) -> f64 {
        self.table[self.stages.len() * self.width + room]
    }

    /// For each stage the best pattern that ends with it: `(worth, stage)`.
    pub(super) fn endings(&self, room: usize) -> impl Iterator<Item = (f64, usize)> + '_ {
        let fits = self.stages.iter().enumerate().filter(move |(_, stage)| stage.shift <= room);
        fits.map(move |(number, stage)| (stage.gain + self.table[number * self.width + room - stage.shift], number))
    }

    /// The pattern behind one of [`Pricer::endings`].
    pub(super) fn ending(&self, number: usize, room: usize) -> Parts {
        let stage = self.stages[number];
        let mut at = room - stage.shift;
        let mut parts = vec![(stage.item, stage.copies)];
        for number in (0..number).rev() {
            let stage = self.stages[number];
            if stage.shift > at || self.table[(number + 1) * self.width + at] == self.table[number * self.width + at] {
                continue;
            }
            at -= stage.shift;
            match parts.last_mut() {
                Some((item, copies)) if *item == stage.item => *copies += stage.copies,
                _ => parts.push((stage.item, stage.copies)),
            }
        }
        parts.reverse();
        parts
    }
}
