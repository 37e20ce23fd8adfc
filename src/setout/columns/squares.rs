//! The last aim: least sum of squares among the joints that tie on the others.
//!
//! With one joint at `y` and the next at `x`, the column between is `x − y − w`. Its square is `x²` (the same for all
//! `y`) plus the straight line `−2(y + w)·x + (y + w)²`. So the best `y` for each `x` lies on the lower envelope of
//! such lines, over the `y` in reach. Joints are taken by how many stand before them, so that all lines of an envelope
//! are known before it is asked. The reach slides along as `x` grows: a pivot splits it into a part that only shrinks
//! and a part that only grows, and each is an envelope that lines are added to at one end.

use super::Exact;
use super::keys::{Cheapest, Key};
use crate::setout::exact::TICKS_IN_MM;

/// A joint that has its best way there.
#[derive(Clone, Copy)]
struct Reached {
    at: i64,
    /// The sum of squares up to it, in square ticks.
    squares: i64,
}

/// The joints of the best run, or `None` where none reaches the end.
pub(super) fn least(exact: &Exact, paths: &Cheapest) -> Option<Vec<i64>> {
    let places = paths.upto.len();
    let mut squares = vec![0_i64; places];
    let mut previous: Vec<Option<i64>> = vec![None; places];
    let half = exact.joint / 2;
    // By cost, then along the tape: the joints of one cost lie side by side.
    let mut by_cost: Vec<(Key, i64)> =
        (0..).zip(&paths.upto).filter_map(|(at, key)| key.map(|key| (key, at))).collect();
    by_cost.sort_unstable();
    for layer in layers(paths) {
        let mut rest = layer.as_slice();
        while let Some(&(from, _)) = rest.first() {
            let (asking, others) = rest.split_at(rest.partition_point(|(other, _)| *other == from));
            rest = others;
            if from == Key::default() {
                for &(_, at) in asking {
                    squares[at as usize] = (at * TICKS_IN_MM - half).pow(2);
                }
                continue;
            }
            // Those that may stand before: their cost is what the asking ones took as the cheapest.
            let span = asking.first().zip(asking.last()).map(|(a, b)| (a.1 - exact.apart.1, b.1 - exact.apart.0));
            let Some((lowest, highest)) = span else { continue };
            let begins = by_cost.partition_point(|line| *line < (from, lowest));
            let ends = by_cost.partition_point(|line| *line <= (from, highest));
            let lines: Vec<Reached> =
                by_cost[begins..ends].iter().map(|&(_, at)| Reached { at, squares: squares[at as usize] }).collect();
            let asked: Vec<i64> = asking.iter().map(|&(_, at)| at).collect();
            for (at, best) in asked.iter().zip(best_before(&lines, &asked, exact)) {
                if let Some((before, sum)) = best {
                    previous[*at as usize] = Some(before);
                    squares[*at as usize] = sum;
                }
            }
        }
    }
    let last = (exact.last.0.max(0)..=exact.last.1)
        .filter_map(|at| Some((paths.upto.get(at as usize).copied().flatten()?, at)))
        .map(|(key, at)| (key, squares[at as usize] + (exact.length - at * TICKS_IN_MM - half).pow(2), at))
        .min()?;
    let mut joints = vec![last.2];
    while let Some(before) = joints.last().and_then(|&at| previous.get(at as usize).copied().flatten()) {
        joints.push(before);
    }
    joints.reverse();
    Some(joints)
}

/// Places by how many joints stand before them; in each layer by the cost before, then along the tape.
fn layers(paths: &Cheapest) -> Vec<Vec<(Key, i64)>> {
    let mut layers: Vec<Vec<(Key, i64)>> = Vec::new();
    for (at, before) in (0_i64..).zip(&paths.before) {
        let Some(before) = *before else { continue };
        let count = before.joints() as usize;
        while layers.len() <= count {
            layers.push(Vec::new());
        }
        if let Some(layer) = layers.get_mut(count) {
            layer.push((before, at));
        }
    }
    layers.iter_mut().for_each(|layer| layer.sort_unstable());
    layers
}

/// For each of `asked` (growing) the best joint before it among `lines` (growing), and the sum of squares with it.
fn best_before(lines: &[Reached], asked: &[i64], exact: &Exact) -> Vec<Option<(i64, i64)>> {
    let mut best: Vec<Option<(i64, i64)>> = vec![None; asked.len()];
    let reach = |at: i64| {
        let low = lines.partition_point(|line| line.at < at - exact.apart.1);
        let high = lines.partition_point(|line| line.at <= at - exact.apart.0);
        (low, high)
    };
    let mut next = 0;
    while let Some(&at) = asked.get(next) {
        // The pivot is the end of the first one's reach: all that follow whose reach begins before it share it.
        let (_, pivot) = reach(at);
        let sharing = asked[next..].partition_point(|&at| reach(at).0 < pivot).max(1);
        let group = next..next + sharing;
        let mut left = Envelope::new(exact.joint, -1);
        let mut added = pivot;
        for i in group.clone().rev() {
            let (low, _) = reach(asked[i]);
            while added > low {
                added -= 1;
                left.add(lines[added]);
            }
            best[i] = left.best(asked[i]);
        }
        let mut right = Envelope::new(exact.joint, 1);
        let mut added = pivot;
        for i in group.clone() {
            let (_, high) = reach(asked[i]);
            while added < high {
                right.add(lines[added]);
                added += 1;
            }
            let other = right.best(asked[i]);
            best[i] = match (best[i], other) {
                (Some(a), Some(b)) => Some(if b.1 < a.1 { b } else { a }),
                (a, b) => a.or(b),
            };
        }
        next += sharing;
    }
    best
}

/// A lower envelope of lines, added and asked in one direction along the tape.
struct Envelope {
    joint: i64,
    /// +1: lines and questions move to the right; −1: to the left.
    towards: i64,
    lines: Vec<Reached>,
    /// The line that answered last: no earlier one can answer again.
    front: usize,
}

impl Envelope {
    fn new(joint: i64, towards: i64) -> Self {
        Self { joint, towards, lines: Vec::new(), front: 0 }
    }

    /// Slope in `x`, and height at `x = 0`, in ticks.
    fn line(&self, reached: Reached) -> (i128, i128) {
        let from = i128::from(reached.at * TICKS_IN_MM + self.joint);
        (-2 * from, from * from + i128::from(reached.squares))
    }

    /// Adds a line further on in the direction of travel, and drops those that it makes useless.
    fn add(&mut self, new: Reached) {
        while self.lines.len() >= self.front + 2 {
            let [.., a, b] = self.lines.as_slice() else { break };
            let ((sa, ha), (sb, hb), (sn, hn)) = (self.line(*a), self.line(*b), self.line(new));
            // b is under both nowhere: where a and the new line cross, b is not below them.
            let (along_b, along_new) = ((sa - sb).abs(), (sa - sn).abs());
            if (hn - ha) * along_b <= (hb - ha) * along_new {
                self.lines.pop();
            } else {
                break;
            }
        }
        self.lines.push(new);
    }

    /// The best line for a question further on in the direction of travel, and the sum of squares with it.
    fn best(&mut self, at: i64) -> Option<(i64, i64)> {
        let square = |reached: Reached| (at * TICKS_IN_MM - reached.at * TICKS_IN_MM - self.joint).pow(2);
        let sum = |reached: Reached| reached.squares + square(reached);
        while let (Some(&here), Some(&after)) = (self.lines.get(self.front), self.lines.get(self.front + 1)) {
            // Of equals the one further left: going right the earlier, going left the later.
            let (now, then) = (sum(here), sum(after));
            if then < now || (then == now && self.towards < 0) {
                self.front += 1;
            } else {
                break;
            }
        }
        self.lines.get(self.front).map(|&reached| (reached.at, sum(reached)))
    }
}
