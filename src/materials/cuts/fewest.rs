//! Fewest boards for a length that is already least: a search of its own, then one set of boards after another.
//!
//! With the length bought fixed there are few sets of boards left that add up to it. For each, the master says
//! whether it can hold the pieces at all, and a dive tries to put them there.

use super::effort::Effort;
use super::master::{Master, Side, Tools};
use super::price::Pricer;
use super::problem::{Load, Problem, Reach};
use super::search::{Best, Limit, dive, search};
use super::simplex::Sense;

/// Sets of boards that are tried at most.
const MOST_SETS: usize = 12;

/// Among plans that cost the same as `best`, one with fewest boards.
pub(super) fn fewest_boards(problem: &Problem, best: &Best, effort: &mut Effort) -> Vec<Load> {
    let boards = problem.boards(&best.loads);
    if problem.bought().count() == 1 || boards <= best.cost.div_ceil(problem.dearest()) {
        return best.loads.clone();
    }
    let by_count = Problem {
        costs: problem.supply.iter().map(|supply| u64::from(supply.is_none())).collect(),
        reach: Reach::of(&[1]),
        ..problem.clone()
    };
    let limit = Some(Limit { weights: problem.costs.clone(), most: best.cost });
    let first = Some(best.loads.clone());
    let better = effort.within(effort.left() / 3, |effort| search(&by_count, first, limit, effort));
    let Some(better) = better.filter(|better| problem.cost(&better.loads) <= best.cost) else {
        return best.loads.clone();
    };
    if better.proven() {
        return better.loads;
    }
    let mut tools = Tools { pricer: Pricer::default(), effort };
    fewer_boards(problem, &better.loads, better.bound, better.cost, &mut tools).unwrap_or(better.loads)
}

/// Looks for a plan of the same cost with at least `least` and fewer than `boards` boards.
fn fewer_boards(problem: &Problem, loads: &[Load], least: u64, boards: u64, tools: &mut Tools) -> Option<Vec<Load>> {
    let cost = problem.cost(loads);
    let mut base = Master::new(problem, loads);
    base.hold_offcuts();
    base.price_out(tools, cost, cost + 1);
    let mut tried = 0;
    // What is bought comes first among the kinds; offcuts behind it are held by rows of their own.
    let paid: Vec<u64> = problem.bought().map(|stock| problem.costs[stock]).collect();
    for count in least..boards {
        for set in sets(&paid, cost, count) {
            if tried == MOST_SETS || tools.effort.over() {
                return None;
            }
            tried += 1;
            let mut master = base.clone();
            for (kind, &most) in set.iter().enumerate() {
                let weights = (0..problem.rooms.len()).map(|other| f64::from(u8::from(other == kind))).collect();
                master.branch(Side::Boards(weights), Sense::AtMost, most as f64);
            }
            master.make_feasible(tools.effort);
            let budget = tools.effort.left() / 6;
            let mut fewer = Best::wanted(problem, cost, count);
            if master.price_out(tools, cost, cost + 1).bound > cost {
                continue;
            }
            for discrepancies in [0, 1] {
                dive(&master, discrepancies, budget / 2, &mut fewer, tools);
            }
            if fewer.proven() {
                return Some(fewer.loads);
            }
        }
    }
    None
}

/// The sets of `count` boards that cost `cost` together, most of the dearest first; at most [`MOST_SETS`].
fn sets(costs: &[u64], cost: u64, count: u64) -> Vec<Vec<u64>> {
    let mut found = Vec::new();
    let mut chosen = Vec::new();
    // Kinds stand longest first. The work is bounded too: three kinds are two loops of `count`.
    let mut steps = 200_000u32;
    choose(costs, cost, count, &mut chosen, &mut found, &mut steps);
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
            chosen.push(count);
            found.push(chosen.clone());
            chosen.pop();
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
