//! Improving a plan by repacking three boards at a time.
//!
//! The waste is driven together onto few boards (the sum of the squares of what is spare grows), until one board is
//! empty or a shorter one does: the measure of Falkenauer (Journal of Heuristics 2, 1996), in a plain local search.

use super::effort::Effort;
use super::problem::{Load, Problem};

/// Plans of more boards than this are left as they are.
const MOST_BOARDS: u64 = 3_000;
/// Three boards with more pieces than this are passed over.
const MOST_PIECES: usize = 14;
/// Placings tried on three boards at most.
const MOST_TRIED: u32 = 6_000;

struct Board {
    stock: usize,
    items: Vec<usize>,
    spare: usize,
}

/// A fixed sequence of numbers that look random (Knuth's MMIX constants): the same plan every time.
struct Shuffle(u64);

impl Shuffle {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % most.max(1)
    }
}

/// Repacks until the cost falls to `goal` or `steps` of work are used; gives the plan if it became cheaper.
pub(super) fn improve(
    problem: &Problem,
    loads: &[Load],
    goal: u64,
    steps: u64,
    effort: &mut Effort,
) -> Option<Vec<Load>> {
    let count: u64 = loads.iter().map(|load| u64::from(load.times)).sum();
    if !(3..=MOST_BOARDS).contains(&count) {
        return None;
    }
    let mut boards: Vec<Board> = Vec::new();
    for load in loads {
        let items: Vec<usize> = load.parts.iter().flat_map(|&(item, n)| (0..n).map(move |_| item)).collect();
        let spare = problem.rooms[load.stock] - problem.taken(&load.parts);
        boards.extend((0..load.times).map(|_| Board { stock: load.stock, items: items.clone(), spare }));
    }
    let before = problem.cost(loads);
    let mut cost = before;
    let mut shuffle = Shuffle(1);
    effort.within(steps, |effort| {
        while cost > goal && !effort.over() && boards.len() >= 3 {
            let emptiest = (0..boards.len()).max_by_key(|&b| (boards[b].spare, b)).unwrap_or(0);
            let first = if shuffle.below(2) == 0 { emptiest } else { shuffle.below(boards.len()) };
            let mut others = [shuffle.below(boards.len()), shuffle.below(boards.len())];
            others.sort_unstable();
            if others[0] == others[1] || others.contains(&first) {
                effort.spend(20);
                continue;
            }
            let three = [first, others[0], others[1]];
            repack(problem, &mut boards, three, &mut shuffle, effort);
            for board in three {
                let taken = problem.rooms[boards[board].stock] - boards[board].spare;
                let Some(stock) = problem.cheapest(taken) else { continue };
                if problem.costs[stock] < problem.costs[boards[board].stock] {
                    cost = cost - problem.costs[boards[board].stock] + problem.costs[stock];
                    boards[board].stock = stock;
                    boards[board].spare = problem.rooms[stock] - taken;
                }
            }
            let drop = three.into_iter().filter(|&board| boards[board].items.is_empty()).max();
            if let Some(board) = drop {
                cost -= problem.costs[boards[board].stock];
                boards.swap_remove(board);
            }
        }
    });
    (cost < before).then(|| boards.iter().map(load_of).collect())
}

fn load_of(board: &Board) -> Load {
    let mut items = board.items.clone();
    items.sort_unstable();
    let parts = items.chunk_by(|a, b| a == b).map(|same| (same[0], same.len() as u32)).collect();
    Load { stock: board.stock, times: 1, parts }
}

/// Tries the ways to put the pieces of three boards back on them.
struct Placing<'a> {
    sizes: &'a [usize],
    items: Vec<usize>,
    spare: [usize; 3],
    at: Vec<u8>,
    best: Option<(u128, Vec<u8>)>,
    alike: usize,
    tried: u32,
}

fn repack(problem: &Problem, boards: &mut [Board], three: [usize; 3], shuffle: &mut Shuffle, effort: &mut Effort) {
    let mut items: Vec<usize> = three.iter().flat_map(|&board| boards[board].items.iter().copied()).collect();
    if items.len() > MOST_PIECES {
        effort.spend(60);
        return;
    }
    items.sort_unstable();
    let rooms = three.map(|board| problem.rooms[boards[board].stock]);
    let count = items.len();
    let mut placing =
        Placing { sizes: &problem.sizes, items, spare: rooms, at: vec![0; count], best: None, alike: 0, tried: 0 };
    placing.place(0, shuffle);
    effort.spend(u64::from(placing.tried) * 6 + 200);
    let held: u128 = three.iter().map(|&board| square(boards[board].spare)).sum();
    let Some((measure, at)) = placing.best else { return };
    if measure < held {
        return;
    }
    for (slot, &board) in three.iter().enumerate() {
        boards[board].items = (0..count).filter(|&i| usize::from(at[i]) == slot).map(|i| placing.items[i]).collect();
        let taken: usize = boards[board].items.iter().map(|&item| problem.sizes[item]).sum();
        boards[board].spare = rooms[slot] - taken;
    }
}

fn square(spare: usize) -> u128 {
    spare as u128 * spare as u128
}

impl Placing<'_> {
    fn place(&mut self, next: usize, shuffle: &mut Shuffle) {
        self.tried += 1;
        if self.tried > MOST_TRIED {
            return;
        }
        if next == self.items.len() {
            let measure = self.spare.iter().map(|&spare| square(spare)).sum();
            match &mut self.best {
                Some((best, _)) if measure < *best => {}
                Some((best, at)) if measure == *best => {
                    // Of placings that are as good, one at random: that is how the search gets about.
                    self.alike += 1;
                    if shuffle.below(self.alike) == 0 {
                        at.copy_from_slice(&self.at);
                    }
                }
                best => {
                    *best = Some((measure, self.at.clone()));
                    self.alike = 1;
                }
            }
            return;
        }
        let size = self.sizes[self.items[next]];
        for slot in 0..3 {
            if self.spare[slot] >= size {
                self.spare[slot] -= size;
                self.at[next] = slot as u8;
                self.place(next + 1, shuffle);
                self.spare[slot] += size;
            }
        }
    }
}
