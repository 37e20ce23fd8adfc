//! The search for the best plan: bound from the master, plans by diving into it, and branching while they differ.
//!
//! Diving with limited discrepancy follows Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa (INFORMS Journal on
//! Computing 31, 2019). The tree branches on how many boards of a kind are bought, and on nothing else.

use std::collections::BTreeMap;

use super::effort::Effort;
use super::first_fit::best_first_fit;
use super::master::{BoardRow, Master, Pattern, Tools};
use super::price::Pricer;
use super::problem::{Load, Problem};

/// The best plan so far and what is known about how good a plan can be.
#[derive(Debug, Clone)]
pub(super) struct Best {
    /// The plan.
    pub loads: Vec<Load>,
    /// Its cost.
    pub cost: u64,
    /// No plan costs less.
    pub bound: u64,
    /// No plan that buys more boards is taken.
    pub most_boards: u64,
}

impl Best {
    fn offer(&mut self, problem: &Problem, loads: Vec<Load>) {
        let Some(exact) = problem.exact(loads) else { return };
        let cost = problem.cost(&exact);
        let there = problem.supply_after(&exact).is_some();
        if there && cost < self.cost && problem.boards(&exact) <= self.most_boards {
            self.cost = cost;
            self.loads = exact;
        }
    }

    /// Whether the plan is proved best.
    pub(super) fn proven(&self) -> bool {
        self.bound >= self.cost
    }
}

/// Masters with more sizes than this are not built: the first plan stands.
const MOST_SIZES: usize = 1_000;
/// Patterns that the open nodes may hold together.
const MOST_HELD: usize = 500_000;
/// A dive tries alternatives only this deep.
const DEEPEST: usize = 3;

/// Searches for the cheapest plan.
pub(super) fn search(problem: &Problem, effort: &mut Effort) -> Option<Best> {
    let first = best_first_fit(problem, &problem.demand, &problem.supply)?;
    let mut best = Best { cost: u64::MAX, loads: Vec::new(), bound: problem.volume_bound(), most_boards: u64::MAX };
    best.offer(problem, first);
    if best.proven() || problem.sizes.len() > MOST_SIZES {
        return Some(best);
    }
    let mut tools = Tools { pricer: Pricer::default(), effort };
    let mut root = Master::new(problem, &best.loads);
    let priced = root.price_out(&mut tools, best.bound, best.cost);
    best.bound = best.bound.max(problem.reach.next(priced.bound)).min(best.cost);
    if best.proven() || !priced.ended {
        return Some(best);
    }
    let mut tree = Tree::new(root.clone(), best.bound);
    // Quick tries first, then again with more patience and more alternatives.
    for (alternatives, patience) in
        (0..6).zip([100_000_000, 500_000_000].into_iter().chain(std::iter::repeat(2_000_000_000)))
    {
        dive(&root, alternatives, (tools.effort.left() / 4).min(patience), &mut best, &mut tools);
        tree.grow((tools.effort.left() / 3).min(patience), &mut best, &mut tools);
        if best.proven() || tools.effort.over() {
            return Some(best);
        }
    }
    tree.grow(u64::MAX, &mut best, &mut tools);
    Some(best)
}

/// Dives from a node with at most `steps` of work.
pub(super) fn dive(from: &Master, discrepancies: usize, steps: u64, best: &mut Best, tools: &mut Tools) {
    let pricer = std::mem::take(&mut tools.pricer);
    tools.pricer = tools.effort.within(steps, |effort| {
        let mut dive = Dive { tools: Tools { pricer, effort }, best, most: discrepancies, fixed: Vec::new() };
        dive.run(from.clone(), 0, Vec::new(), 0);
        dive.tools.pricer
    });
}

/// A dive: pattern after pattern is decided, and the master solved again for what is left.
struct Dive<'a, 'e, 's> {
    tools: Tools<'e, 's>,
    best: &'a mut Best,
    most: usize,
    fixed: Vec<Load>,
}

impl Dive<'_, '_, '_> {
    fn run(&mut self, mut master: Master, mut spent: u64, mut turned_down: Vec<Pattern>, mut depth: usize) {
        let problem = master.problem;
        let height = self.fixed.len();
        while !self.tools.effort.over() && !self.best.proven() {
            if master.need.iter().all(|&count| count == 0) {
                self.best.offer(problem, self.fixed.clone());
                break;
            }
            self.finish_quickly(&master);
            let Some(room) = self.best.cost.checked_sub(spent) else { break };
            let goal = self.best.bound.saturating_sub(spent);
            let priced = master.price_out(&mut self.tools, goal, room);
            // A plan from here costs at least this; it must beat the best, and totals come in steps.
            let level = (priced.value - 1e-6).ceil().max(0.0) as u64;
            if problem.reach.next(spent.saturating_add(level)) >= self.best.cost {
                break;
            }
            let Some(levels) = master.levels(self.tools.effort) else { break };
            let mut sure: Vec<Load> = levels
                .iter()
                .map(|(pattern, level)| load_of(pattern, (level + 1e-6) as u32))
                .filter(|load| load.times > 0)
                .collect();
            if sure.is_empty() {
                let Some(pattern) = likeliest(problem, &levels, &turned_down) else { break };
                let load = load_of(pattern, 1);
                if depth < DEEPEST && turned_down.len() < self.most {
                    let pattern = pattern.clone();
                    let mut child = master.clone();
                    child.fix(&load);
                    let cost = problem.costs[load.stock];
                    self.fixed.push(load);
                    self.run(child, spent + cost, turned_down.clone(), depth + 1);
                    self.fixed.pop();
                    turned_down.push(pattern);
                    continue;
                }
                sure.push(load);
                depth += 1;
            }
            for load in sure {
                spent += problem.costs[load.stock] * u64::from(load.times);
                master.fix(&load);
                self.fixed.push(load);
            }
        }
        self.fixed.truncate(height);
    }

    /// Completes the decided part with a quick plan: sometimes that is all it takes.
    fn finish_quickly(&mut self, master: &Master) {
        let Some(supply) = master.problem.supply_after(&self.fixed) else { return };
        if let Some(mut plan) = best_first_fit(master.problem, &master.need, &supply) {
            plan.extend(self.fixed.iter().cloned());
            self.best.offer(master.problem, plan);
        }
    }
}

fn load_of(pattern: &Pattern, times: u32) -> Load {
    Load { stock: pattern.stock, times, parts: pattern.parts.clone() }
}

/// The pattern nearest to a whole board, the fuller one of two alike.
fn likeliest<'m>(problem: &Problem, levels: &[(&'m Pattern, f64)], turned_down: &[Pattern]) -> Option<&'m Pattern> {
    let mut best: Option<(f64, usize, &Pattern)> = None;
    for &(pattern, level) in levels.iter().filter(|(pattern, _)| !turned_down.contains(pattern)) {
        let spare = problem.rooms[pattern.stock].saturating_sub(problem.taken(&pattern.parts));
        let better = best.is_none_or(|(held, least, _)| level > held + 1e-6 || level > held - 1e-6 && spare < least);
        if better {
            best = Some((level, spare, pattern));
        }
    }
    best.map(|(_, _, pattern)| pattern)
}

/// The nodes that are open, by bound.
struct Tree<'p> {
    open: BTreeMap<(u64, usize), Master<'p>>,
    next: usize,
    /// Least bound of the nodes that could be neither closed nor branched.
    stuck: u64,
}

impl<'p> Tree<'p> {
    fn new(root: Master<'p>, bound: u64) -> Self {
        Self { open: BTreeMap::from([((bound, usize::MAX), root)]), next: usize::MAX, stuck: u64::MAX }
    }

    /// Branches on the nodes of least bound, newest first, until plan and bound meet or the work is used up.
    fn grow(&mut self, steps: u64, best: &mut Best, tools: &mut Tools) {
        let pricer = std::mem::take(&mut tools.pricer);
        tools.pricer = tools.effort.within(steps, |effort| {
            let mut tools = Tools { pricer, effort };
            while !tools.effort.over() {
                let Some(((bound, number), node)) = self.open.pop_first() else { break };
                best.bound = best.bound.max(bound.min(self.stuck)).min(best.cost);
                if bound >= best.cost || self.open.len() * node.patterns.len() > MOST_HELD {
                    self.open.insert((bound, number), node);
                    break;
                }
                self.work(bound, number, node, best, &mut tools);
            }
            let least = self.open.first_key_value().map_or(u64::MAX, |(key, _)| key.0).min(self.stuck);
            best.bound = best.bound.max(least).min(best.cost);
            tools.pricer
        });
    }

    fn work(&mut self, bound: u64, number: usize, mut node: Master<'p>, best: &mut Best, tools: &mut Tools) {
        let problem = node.problem;
        let priced = node.price_out(tools, bound, best.cost);
        let bound = bound.max(problem.reach.next(priced.bound));
        if bound >= best.cost {
            return;
        }
        if tools.effort.over() {
            // Not done with: it stays open for the next round.
            self.open.insert((bound, number), node);
            return;
        }
        dive(&node, 0, tools.effort.left() / 10, best, tools);
        if bound >= best.cost {
            return;
        }
        let levels = if priced.ended { node.levels(tools.effort) } else { None };
        let Some((weights, boards)) = levels.as_deref().and_then(|levels| fraction(problem, levels)) else {
            let whole = levels.into_iter().flatten().map(|(pattern, level)| load_of(pattern, level.round() as u32));
            best.offer(problem, whole.collect());
            if bound < best.cost {
                self.stuck = self.stuck.min(bound);
            }
            return;
        };
        for (at_least, boards) in [(true, boards.ceil()), (false, boards.floor())] {
            let mut child = node.clone();
            child.add_row(BoardRow { weights: weights.clone(), at_least, boards });
            self.next -= 1;
            self.open.insert((bound, self.next), child);
        }
    }
}

/// What to branch on: a number of boards that is not whole, of all together or of one kind.
fn fraction(problem: &Problem, levels: &[(&Pattern, f64)]) -> Option<(Vec<f64>, f64)> {
    let kinds = problem.rooms.len();
    let off = |value: f64| (value - value.round()).abs();
    let mut boards = vec![0.0; kinds];
    for (pattern, level) in levels {
        boards[pattern.stock] += level;
    }
    let all: f64 = boards.iter().sum();
    if off(all) > 1e-5 {
        return Some((vec![1.0; kinds], all));
    }
    let kind = (0..kinds).max_by(|&a, &b| off(boards[a]).total_cmp(&off(boards[b])).then(b.cmp(&a)))?;
    let weights = (0..kinds).map(|other| f64::from(u8::from(other == kind))).collect();
    (off(boards[kind]) > 1e-5).then_some((weights, boards[kind]))
}
