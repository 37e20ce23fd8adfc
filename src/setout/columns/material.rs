//! Fewest panels: branch and bound over the lengths of the columns.
//!
//! What the columns add up to is fixed by the aims before; what varies is which of them share a panel. A node bounds
//! each column's length. Its best set-out by the aims after comes from [`Chain::best`]; no fewer panels than its bound
//! can do: by length, and by a linear programme over the ways of sharing that some lengths within the bounds allow
//! (Gilmore and Gomory, Operations Research 9, 1961). Where the set-out needs more than that, some way of sharing does
//! not fit at its lengths; the node is split into lengths where it may and lengths where it can't.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use super::chain::{Bounds, Chain, Joints};
use super::cutting::{Panels, Saw};
use super::tape::Tape;

/// Up to so many columns the search goes on until it has a proof.
const MOST_PROVEN: usize = 12;
/// Steps of work up to so many columns, and beyond: seconds, and hundredths of a second.
const EFFORT: (u64, u64) = (2_000_000_000, 1_000_000);
/// Ways of sharing that are listed, and that a linear programme is made of.
const MOST_WAYS: usize = 4_000;
const MOST_ROWS: usize = 400;

/// The set-out that takes fewest panels.
pub(super) struct Material {
    pub joints: Joints,
    pub panels: u64,
    /// Whether no set-out that is as good in the aims before takes fewer.
    pub proven: bool,
    /// What the most even set-out takes.
    pub even: u64,
}

/// Lengths within bounds, with the best of them.
struct Node {
    bounds: Vec<Bounds>,
    joints: Joints,
}

/// Panels, shorter columns, squares; then the order of making, so that a node never has to be compared.
type Rank = (u64, u32, i64, usize);

/// How often each column is cut from one panel.
type Way = Vec<u32>;

/// Finds the set-out; `first` is the best by the aims after, `even` the one of least squares alone.
pub(super) fn fewest_panels(
    tape: &Tape,
    chain: &Chain<'_>,
    kerf: i64,
    times: u32,
    first: Joints,
    even: &Joints,
) -> Material {
    let saw = Saw { room: tape.panel + kerf, times };
    let by_length = saw.by_length(tape.columns(&first.places).iter().map(|column| column + kerf).sum());
    let mut effort = if chain.columns() > MOST_PROVEN { EFFORT.1 } else { EFFORT.0 };
    let taken = |joints: &Joints| tape.columns(&joints.places).iter().map(|column| column + kerf).collect::<Vec<i64>>();
    let of_first = saw.panels(&taken(&first), by_length, &mut effort);
    let of_even = match first.places == even.places {
        true => of_first,
        false => saw.panels(&taken(even), by_length, &mut effort),
    };
    let mut search = Search { chain, saw: &saw, kerf, open: BinaryHeap::new(), nodes: Vec::new(), effort };
    // As long as it is not known how many the first one needs, only what beats its least is surely better.
    let mut best = Material { joints: first.clone(), panels: of_first.least, proven: true, even: of_even.most };
    let mut most = of_first.most;
    if of_first.most > by_length {
        let bounds = vec![(tape.least, tape.panel); chain.columns()];
        search.push(by_length, Node { bounds, joints: first });
    }
    if of_even.most < best.panels {
        let shorter = tape.columns(&even.places).iter().filter(|column| **column != tape.panel).count() as u32;
        best.joints = Joints { shorter: if chain.count_shorter { shorter } else { 0 }, ..even.clone() };
        (best.panels, most) = (of_even.most, of_even.most);
    }
    while let Some(((least, ..), node)) = search.pop() {
        if (least, node.joints.shorter, node.joints.squares) >= (best.panels, best.joints.shorter, best.joints.squares)
        {
            break;
        }
        if search.effort == 0 {
            best.proven = false;
            break;
        }
        let columns = taken(&node.joints);
        let found = saw.panels(&columns, least, &mut search.effort);
        if (found.most, node.joints.shorter, node.joints.squares)
            < (best.panels, best.joints.shorter, best.joints.squares)
        {
            best.joints = node.joints.clone();
            best.panels = found.most;
            most = found.most;
        }
        best.proven &= search.split(least, node, found, &columns);
    }
    best.proven &= best.panels == most;
    Material { panels: most, ..best }
}

struct Search<'c, 't> {
    chain: &'c Chain<'t>,
    saw: &'c Saw,
    kerf: i64,
    open: BinaryHeap<Reverse<Rank>>,
    nodes: Vec<Option<Node>>,
    effort: u64,
}

impl Search<'_, '_> {
    fn push(&mut self, least: u64, node: Node) {
        self.open.push(Reverse((least, node.joints.shorter, node.joints.squares, self.nodes.len())));
        self.nodes.push(Some(node));
    }

    fn pop(&mut self) -> Option<(Rank, Node)> {
        let Reverse(rank) = self.open.pop()?;
        let node = self.nodes.get_mut(rank.3)?.take()?;
        Some((rank, node))
    }

    /// Splits a node whose set-out takes `found` panels; gives whether nothing in it can be missed.
    fn split(&mut self, least: u64, node: Node, found: Panels, columns: &[i64]) -> bool {
        if found.most <= least {
            return true;
        }
        let bounds = tightened(&node.bounds, columns.iter().map(|column| column - self.kerf).sum());
        let sizes: Vec<Bounds> = bounds.iter().map(|&(low, high)| (low + self.kerf, high + self.kerf)).collect();
        let sharing = Sharing { sizes: &sizes, room: self.saw.room, total: columns.iter().sum(), most: self.saw.times };
        let (ways, complete) = sharing.ways(&mut self.effort);
        let (bound, tight) =
            if complete && ways.len() <= MOST_ROWS { by_sharing(&ways, columns.len()) } else { (0.0, vec![]) };
        let least = least.max((f64::from(self.saw.times) * bound - 1e-6).ceil() as u64);
        if found.most <= least {
            return true;
        }
        let taken = |way: &Way| way.iter().zip(columns).map(|(&n, column)| i64::from(n) * column).sum::<i64>();
        let over = |way: &&Way| taken(way) - self.saw.room;
        let wanting = tight.iter().filter_map(|&row| ways.get(row)).filter(|way| over(way) > 0).min_by_key(over);
        let Some(way) = wanting.or_else(|| ways.iter().filter(|way| over(way) > 0).min_by_key(over)) else {
            // Whatever shares a panel anywhere in this node shares one here: there is nothing better in it.
            return complete && found.least == found.most;
        };
        let (way, over) = (way.clone(), over(&way));
        let room = |i: usize| i64::from(way[i]) * (columns[i] - sizes[i].0);
        let rooms: i128 = (0..way.len()).map(|i| i128::from(room(i))).sum();
        let mut rest = bounds;
        for i in 0..way.len() {
            // Each column of the way gives its share of what is over.
            let share = (i128::from(over) * i128::from(room(i)) + rooms - 1).div_euclid(rooms.max(1)) as i64;
            let give = (share + i64::from(way[i].max(1)) - 1).div_euclid(i64::from(way[i].max(1)));
            if room(i) == 0 || give == 0 {
                continue;
            }
            let split = columns[i] - self.kerf - give;
            let mut shorter = rest.clone();
            shorter[i].1 = split;
            self.try_push(least, shorter);
            rest[i].0 = split + 1;
        }
        self.try_push(least, rest);
        true
    }

    fn try_push(&mut self, least: u64, bounds: Vec<Bounds>) {
        self.effort = self.effort.saturating_sub(self.chain.size() * 16);
        if bounds.iter().all(|(low, high)| low <= high)
            && let Some(joints) = self.chain.best(&bounds)
        {
            self.push(least, Node { bounds, joints });
        }
    }
}

/// Bounds that allow for what all columns add up to.
fn tightened(bounds: &[Bounds], total: i64) -> Vec<Bounds> {
    let (low, high): (i64, i64) = bounds.iter().fold((0, 0), |sum, bound| (sum.0 + bound.0, sum.1 + bound.1));
    bounds.iter().map(|&(l, h)| (l.max(total - (high - h)), h.min(total - (low - l)))).collect()
}

/// The ways in which columns can share a panel, somewhere within bounds.
struct Sharing<'s> {
    sizes: &'s [Bounds],
    room: i64,
    /// What all columns add up to.
    total: i64,
    /// The most of one column.
    most: u32,
}

impl Sharing<'_> {
    /// The ways that nothing can be added to, as far as they are listed, and whether they all are.
    fn ways(&self, effort: &mut u64) -> (Vec<Way>, bool) {
        let mut ways = Vec::new();
        let complete = self.add(0, &mut vec![0; self.sizes.len()], &mut ways).is_some();
        let add = |way: &Way, i: usize| {
            let mut more = way.clone();
            more[i] += 1;
            more
        };
        // What is listed, what is asked of each, and the programme that is made of it.
        let columns = self.sizes.len() as u64;
        *effort = effort.saturating_sub((ways.len() as u64 + 1) * columns * columns * 8);
        ways.retain(|way| (0..way.len()).all(|i| way[i] == self.most || !self.fits(&add(way, i))));
        (ways, complete)
    }

    fn add(&self, from: usize, way: &mut Way, ways: &mut Vec<Way>) -> Option<()> {
        for next in from..way.len() {
            way[next] += 1;
            if way[next] <= self.most && self.fits(way) {
                if ways.len() == MOST_WAYS {
                    way[next] -= 1;
                    return None;
                }
                ways.push(way.clone());
                if self.add(next, way, ways).is_none() {
                    way[next] -= 1;
                    return None;
                }
            }
            way[next] -= 1;
        }
        Some(())
    }

    /// Whether the columns of a way fit on one panel at some lengths within bounds that add up: what the bounds leave
    /// to be given away goes to the columns that are cut least often.
    fn fits(&self, way: &Way) -> bool {
        let least: i64 = way.iter().zip(self.sizes).map(|(&n, size)| i64::from(n) * size.0).sum();
        let mut left = self.total - self.sizes.iter().map(|size| size.0).sum::<i64>();
        let mut order: Vec<usize> = (0..way.len()).collect();
        order.sort_by_key(|&i| way[i]);
        let mut taken = least;
        for i in order {
            let give = left.min(self.sizes[i].1 - self.sizes[i].0);
            left -= give;
            taken += give * i64::from(way[i]);
        }
        left <= 0 && taken <= self.room
    }
}

/// Panels for one of each column, no fewer, by the dual of the linear programme; and the ways that it comes to rest on.
fn by_sharing(ways: &[Way], columns: usize) -> (f64, Vec<usize>) {
    let mut programme = Problem::new(OptimizationDirection::Maximize);
    let prices: Vec<Variable> = (0..columns).map(|_| programme.add_var(1.0, (0.0, 1.0))).collect();
    let row = |way: &Way| {
        prices.iter().zip(way).filter(|(_, n)| **n > 0).map(|(price, &n)| (*price, f64::from(n))).collect::<Vec<_>>()
    };
    for way in ways {
        programme.add_constraint(row(way), ComparisonOp::Le, 1.0);
    }
    let Some(solution) = programme.solve().ok().and_then(|outcome| outcome.into_solution().ok()) else {
        return (0.0, Vec::new());
    };
    let price = |variable: &Variable| solution.var_value(*variable);
    let worth = |way: &Way| prices.iter().zip(way).map(|(at, &n)| price(at) * f64::from(n)).sum::<f64>();
    // Prices scaled down until no way is worth more than one panel bound safely, whatever was rounded.
    let dearest = ways.iter().map(worth).chain(prices.iter().map(price)).fold(1.0, f64::max);
    let tight = (0..ways.len()).filter(|&i| worth(&ways[i]) > 1.0 - 1e-6).collect();
    (prices.iter().map(price).sum::<f64>() / dearest, tight)
}
