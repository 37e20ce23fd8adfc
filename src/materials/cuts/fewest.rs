//! Fewest boards for a length that is already least: one set of boards after another, fewest first.
//!
//! With the length bought fixed there are few sets of boards left that add up to it. For each, the master says
//! whether it can hold the pieces at all, and a dive tries to put them there.

use super::effort::Effort;
use super::master::{BoardRow, Master, Tools};
use super::price::Pricer;
use super::problem::{Load, Problem};
use super::search::{Best, dive};

/// Sets of boards that are tried at most.
const MOST_SETS: usize = 400;

/// Among plans that cost the same as `best`, one with fewest boards.
pub(super) fn fewest_boards(problem: &Problem, best: &Best, effort: &mut Effort) -> Vec<Load> {
    // What is bought comes first among the kinds, the longest first; offcuts behind it are held by rows of their own.
    let costs: Vec<u64> = problem.bought().map(|stock| problem.costs[stock]).collect();
    let boards = problem.boards(&best.loads);
    if costs.len() == 1 || boards <= best.cost.div_ceil(problem.dearest()) {
        return best.loads.clone();
    }
    let cost = best.cost;
    let mut tools = Tools { pricer: Pricer::default(), effort };
    let mut base = Master::new(problem, &best.loads);
    base.price_out(&mut tools, cost, cost + 1);
    let sets = (cost.div_ceil(problem.dearest())..boards).flat_map(|count| sets(&costs, cost, count));
    for set in sets.take(MOST_SETS) {
        if tools.effort.over() {
            break;
        }
        let mut master = base.clone();
        for (stock, &most) in set.iter().enumerate() {
            master.add_row(BoardRow::at_most(problem, stock, most as f64));
        }
        if master.price_out(&mut tools, cost, cost + 1).bound > cost {
            continue;
        }
        let budget = tools.effort.left() / 8;
        let mut fewer = Best { loads: Vec::new(), cost: cost + 1, bound: cost, most_boards: set.iter().sum() };
        for discrepancies in [0, 1] {
            dive(&master, discrepancies, budget, &mut fewer, &mut tools);
        }
        if fewer.proven() {
            return fewer.loads;
        }
    }
    best.loads.clone()
}

/// The sets of `count` boards that cost `cost` together, most of the dearest first; at most [`MOST_SETS`].
fn sets(costs: &[u64], cost: u64, count: u64) -> Vec<Vec<u64>> {
    let mut found = Vec::new();
    // The work is bounded too: three kinds are two loops of `count`.
    choose(costs, cost, count, &mut Vec::new(), &mut found, &mut 200_000);
    found
}

fn choose(costs: &[u64], cost: u64, count: u64, chosen: &mut Vec<u64>, found: &mut Vec<Vec<u64>>, steps: &mut u32) {
    let Some((&dearest, rest)) = costs.split_first() else { return };
    if found.len() >= MOST_SETS || *steps == 0 {
        return;
    }
    *steps -= 1;
    if rest.is_empty() {
        if dearest.checked_mul(count) == Some(cost) {
            found.push([chosen.as_slice(), &[count]].concat());
        }
        return;
    }
    for most in (0..=count.min(cost / dearest)).rev() {
        // Too few of this kind, and the rest can't make up the cost.
        if (count - most).saturating_mul(rest[0]) < cost - dearest * most {
            break;
        }
        chosen.push(most);
        choose(rest, cost - dearest * most, count - most, chosen, found, steps);
        chosen.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_of_boards_add_up() {
        let costs = [14, 9];
        assert_eq!(sets(&costs, 874, 66), [[56, 10]]);
        assert!((60..66).all(|count| sets(&costs, 874, count).is_empty()));
    }
}
