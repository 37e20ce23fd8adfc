//! The problem as the solver sees it: distinct sizes in the smallest whole unit, kerf already in them.

use std::collections::BinaryHeap;

use super::price::Parts;

/// Sizes to be cut from rooms, each room at a cost.
///
/// A piece takes its length and one kerf; a board has room for its length and one kerf, because the last cut
/// of a board may fall on its end. Everything is divided by the greatest common divisor.
#[derive(Debug, Clone)]
pub(super) struct Problem {
    /// Distinct sizes, longest first.
    pub sizes: Vec<usize>,
    /// How many of each are wanted.
    pub demand: Vec<u32>,
    /// Room of each kind of board.
    pub rooms: Vec<usize>,
    /// What a board of each kind costs, in whole units; an offcut that is there already costs nothing.
    pub costs: Vec<u64>,
    /// How many there are of each kind: `None` of boards that can be bought, a number of offcuts.
    pub supply: Vec<Option<u32>>,
    /// Which total costs can be reached at all.
    pub reach: Reach,
}

/// Boards cut alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Load {
    /// The kind of board.
    pub stock: usize,
    /// How many boards.
    pub times: u32,
    /// What is cut from each.
    pub parts: Parts,
}

impl Problem {
    /// Cost of a plan.
    pub(super) fn cost(&self, loads: &[Load]) -> u64 {
        loads.iter().map(|load| self.costs[load.stock] * u64::from(load.times)).sum()
    }

    /// The dearest board.
    pub(super) fn dearest(&self) -> u64 {
        self.costs.iter().copied().max().unwrap_or(1)
    }

    /// The kinds that can be bought, as many as wanted.
    pub(super) fn bought(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.rooms.len()).filter(|&stock| self.supply[stock].is_none())
    }

    /// The kinds of offcut, with how many there are.
    pub(super) fn offcuts(&self) -> impl Iterator<Item = (usize, u32)> + '_ {
        self.supply.iter().enumerate().filter_map(|(stock, supply)| Some((stock, (*supply)?)))
    }

    /// How many of each kind are left once these loads are cut; `None` when they take more than there are.
    pub(super) fn supply_after(&self, loads: &[Load]) -> Option<Vec<Option<u32>>> {
        let mut left = self.supply.clone();
        for load in loads {
            if let Some(count) = &mut left[load.stock] {
                *count = count.checked_sub(load.times)?;
            }
        }
        Some(left)
    }

    /// Boards of a plan that have to be bought.
    pub(super) fn boards(&self, loads: &[Load]) -> u64 {
        loads.iter().filter(|load| self.supply[load.stock].is_none()).map(|load| u64::from(load.times)).sum()
    }

    /// Room that these parts take.
    pub(super) fn taken(&self, parts: &Parts) -> usize {
        parts.iter().map(|&(item, copies)| self.sizes[item] * copies as usize).sum()
    }

    /// The cheapest board to buy with room for `taken`; the shorter one of two that cost the same.
    pub(super) fn cheapest(&self, taken: usize) -> Option<usize> {
        self.bought()
            .filter(|&stock| self.rooms[stock] >= taken)
            .min_by_key(|&stock| (self.costs[stock], self.rooms[stock]))
    }

    /// A bound that needs no search: the room that the pieces take at the cheapest cost of room.
    pub(super) fn volume_bound(&self) -> u64 {
        let total: u128 =
            self.sizes.iter().zip(&self.demand).map(|(&size, &count)| size as u128 * u128::from(count)).sum();
        let free: u128 = self.offcuts().map(|(stock, count)| self.rooms[stock] as u128 * u128::from(count)).sum();
        let total = total.saturating_sub(free);
        // Least cost of `total` room at cost/room per unit, rounded up, for the best-value kind of board.
        let value = self.bought().map(|stock| {
            let room = self.rooms[stock].max(1) as u128;
            (total * u128::from(self.costs[stock])).div_ceil(room)
        });
        self.reach.next(u64::try_from(value.min().unwrap_or(0)).unwrap_or(u64::MAX))
    }

    /// Takes away whatever a plan cuts beyond the demand, and drops what is left empty. A board that can then be
    /// a cheaper one becomes it. `None` when something is not covered.
    pub(super) fn exact(&self, loads: Vec<Load>) -> Option<Vec<Load>> {
        let mut excess = vec![0i64; self.sizes.len()];
        for load in &loads {
            for &(item, copies) in &load.parts {
                excess[item] += i64::from(copies) * i64::from(load.times);
            }
        }
        for (over, &wanted) in excess.iter_mut().zip(&self.demand) {
            *over -= i64::from(wanted);
        }
        if excess.iter().any(|&over| over < 0) {
            return None;
        }
        let mut todo = loads;
        let mut done = Vec::with_capacity(todo.len());
        while let Some(mut load) = todo.pop() {
            let cut = load.parts.iter().position(|&(item, _)| excess[item] > 0);
            let Some(cut) = cut else {
                if !load.parts.is_empty() && load.times > 0 {
                    done.push(load);
                }
                continue;
            };
            let (item, copies) = load.parts[cut];
            let over = excess[item];
            let take = over.min(i64::from(copies));
            // As many boards as give up the same number of pieces; the rest come round again.
            let boards = (over / take).min(i64::from(load.times));
            excess[item] -= take * boards;
            let rest = load.times - boards as u32;
            if rest > 0 {
                todo.push(Load { times: rest, ..load.clone() });
            }
            load.times = boards as u32;
            if take == i64::from(copies) {
                load.parts.remove(cut);
            } else {
                load.parts[cut].1 -= take as u32;
            }
            // An offcut stays what it is: there may be no second one, and it costs nothing.
            let price = |stock: usize| (self.costs[stock], self.rooms[stock]);
            if let Some(stock) = self.cheapest(self.taken(&load.parts))
                && price(stock) < price(load.stock)
            {
                load.stock = stock;
            }
            todo.push(load);
        }
        done.reverse();
        Some(done)
    }
}

/// The totals that whole boards can add up to.
///
/// For each remainder after division by the smallest cost, the least total with that remainder: every larger
/// one with the same remainder can be reached too (the usual shortest-path form of the coin problem).
#[derive(Debug, Clone)]
pub(super) struct Reach {
    least: Vec<u64>,
}

impl Reach {
    /// For boards that cost this much each.
    pub(super) fn of(costs: &[u64]) -> Self {
        let modulus = costs.iter().copied().min().unwrap_or(1).max(1);
        let mut least = vec![u64::MAX; modulus as usize];
        least[0] = 0;
        let mut heap = BinaryHeap::from([std::cmp::Reverse((0u64, 0usize))]);
        while let Some(std::cmp::Reverse((total, remainder))) = heap.pop() {
            if total > least[remainder] {
                continue;
            }
            for &cost in costs {
                let next = total + cost;
                let place = (next % modulus) as usize;
                if next < least[place] {
                    least[place] = next;
                    heap.push(std::cmp::Reverse((next, place)));
                }
            }
        }
        Self { least }
    }

    /// The least total that can be reached and is at least `bound`.
    pub(super) fn next(&self, bound: u64) -> u64 {
        let modulus = self.least.len() as u64;
        let raised = |(remainder, &least): (usize, &u64)| {
            if least >= bound {
                return least;
            }
            let ahead = (remainder as u64 + modulus - bound % modulus) % modulus;
            bound.saturating_add(ahead)
        };
        self.least.iter().enumerate().map(raised).min().unwrap_or(bound)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn totals_that_boards_can_make() {
        let reach = Reach::of(&[5, 6]);
        let made: Vec<u64> = (0..24).filter(|&total| reach.next(total) == total).collect();
        assert_eq!(made, [0, 5, 6, 10, 11, 12, 15, 16, 17, 18, 20, 21, 22, 23]);
        assert_eq!(reach.next(7), 10);
        assert_eq!(reach.next(19), 20);
    }

    #[test]
    fn what_is_cut_too_often_is_taken_away_again() {
        let problem = Problem {
            sizes: vec![5, 3],
            demand: vec![3, 4],
            rooms: vec![11, 6],
            costs: vec![11, 6],
            supply: vec![None; 2],
            reach: Reach::of(&[11, 6]),
        };
        let plan = vec![Load { stock: 0, times: 3, parts: vec![(0, 1), (1, 2)] }];
        let exact = problem.exact(plan).unwrap();
        assert_eq!(
            exact,
            [
                Load { stock: 0, times: 2, parts: vec![(0, 1), (1, 2)] },
                Load { stock: 1, times: 1, parts: vec![(0, 1)] }
            ]
        );
        assert_eq!(problem.exact(vec![Load { stock: 0, times: 1, parts: vec![(0, 1)] }]), None);
    }
}
