//! The search for the best plan: bound from the master, plans by diving into it, and branching while they differ.
//!
//! Diving with limited discrepancy follows Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa (INFORMS Journal on
//! Computing 31, 2019); branching on where an item is put down on the board follows the arc-flow view of
//! Valério de Carvalho (Annals of Operations Research 86, 1999).

use std::collections::BTreeMap;

use super::effort::Effort;
use super::fill::{best_first_fit, fill_in_turn};
use super::improve::improve;
use super::master::{Master, Side, Tools};
use super::price::{Parts, Pricer};
use super::problem::{Load, Problem};
use super::simplex::{LEVEL, Sense, TINY};

/// The best plan so far and what is known about how good a plan can be.
#[derive(Debug, Clone)]
pub(super) struct Best {
    /// The plan.
    pub loads: Vec<Load>,
    /// Its cost.
    pub cost: u64,
    /// No plan costs less.
    pub bound: u64,
    limit: Option<Limit>,
}

/// A side condition that every plan must keep: so much at most, with a weight for each kind of board.
#[derive(Debug, Clone)]
pub(super) struct Limit {
    /// One weight a kind.
    pub weights: Vec<u64>,
    /// The most that the boards may weigh together.
    pub most: u64,
}

impl Limit {
    fn keeps(&self, loads: &[Load]) -> bool {
        loads.iter().map(|load| self.weights[load.stock] * u64::from(load.times)).sum::<u64>() <= self.most
    }
}

impl Best {
    /// Nothing yet, but any plan of this cost with at most so many boards is as good as can be.
    pub(super) fn wanted(problem: &Problem, cost: u64, boards: u64) -> Self {
        let weights = problem.supply.iter().map(|supply| u64::from(supply.is_none())).collect();
        let limit = Some(Limit { weights, most: boards });
        Self { loads: Vec::new(), cost: cost + 1, bound: cost, limit }
    }

    fn offer(&mut self, problem: &Problem, loads: Vec<Load>) {
        if let Some(exact) = problem.exact(loads) {
            let cost = problem.cost(&exact);
            let there = problem.supply_after(&exact).is_some();
            if there && cost < self.cost && self.limit.as_ref().is_none_or(|limit| limit.keeps(&exact)) {
                self.cost = cost;
                self.loads = exact;
            }
        }
    }

    /// Whether the plan is proved best.
    pub(super) fn proven(&self) -> bool {
        self.bound >= self.cost
    }
}

/// Masters with more rows than this are not built: the quick plans stand.
const MOST_ROWS: usize = 1_000;
/// A sum of levels as near as this to a whole number is one: each of them may be off by [`LEVEL`].
const WHOLE: f64 = 1e-5;
/// Numbers that the open nodes may hold together (8 bytes each).
const MOST_HELD: usize = 10_000_000;

/// Searches for the cheapest plan; `first` is a plan to begin with, which keeps the `limit` if there is one.
pub(super) fn search(
    problem: &Problem,
    first: Option<Vec<Load>>,
    limit: Option<Limit>,
    effort: &mut Effort,
) -> Option<Best> {
    let first_given = first.is_some();
    let loads = match first {
        Some(loads) => loads,
        None => best_first_fit(problem, &problem.demand, &problem.supply)?,
    };
    let mut best = Best { cost: u64::MAX, loads: Vec::new(), bound: problem.volume_bound(), limit: limit.clone() };
    best.offer(problem, loads.clone());
    if best.proven() {
        return Some(best);
    }
    let mut tools = Tools { pricer: Pricer::default(), effort };
    if !first_given {
        for bias in [0.0, 10.0, 30.0] {
            let budget = tools.effort.left() / 10;
            let Tools { pricer, effort } = &mut tools;
            let plan = effort.within(budget, |effort| fill_in_turn(problem, &problem.demand, bias, pricer, effort));
            if let Some(plan) = plan {
                best.offer(problem, plan);
            }
            if best.proven() {
                return Some(best);
            }
        }
    }
    if problem.sizes.len() > MOST_ROWS {
        return Some(repacked(problem, best, tools.effort));
    }
    let mut root = Master::new(problem, &best.loads);
    root.hold_offcuts();
    if let Some(limit) = limit {
        let weights = limit.weights.iter().map(|&weight| weight as f64).collect();
        root.branch(Side::Boards(weights), Sense::AtMost, limit.most as f64);
        root.make_feasible(tools.effort);
    }
    let priced = root.price_out(&mut tools, best.bound, best.cost);
    best.bound = best.bound.max(problem.reach.next(priced.bound)).min(best.cost);
    if best.proven() {
        return Some(best);
    }
    if !priced.ended {
        return Some(repacked(problem, best, tools.effort));
    }
    let mut tree = Tree::new(root.clone(), best.bound);
    // Quick tries first, then each again with more patience.
    for (round, patience) in [100_000_000, 500_000_000, 2_000_000_000].into_iter().enumerate() {
        let budget = (tools.effort.left() / 4).min(patience);
        dive(&root, round, budget, &mut best, &mut tools);
        if !best.proven() && best.limit.is_none() {
            let budget = (tools.effort.left() / 8).min(patience / 2);
            if let Some(plan) = improve(problem, &best.loads, best.bound, budget, tools.effort) {
                best.offer(problem, plan);
            }
        }
        let budget = (tools.effort.left() / 3).min(patience);
        tree.grow(budget, &mut best, &mut tools);
        if best.proven() || tools.effort.over() {
            return Some(best);
        }
    }
    tree.grow(u64::MAX, &mut best, &mut tools);
    Some(best)
}

/// Where the master is too large to be priced out, three boards at a time can still be repacked.
fn repacked(problem: &Problem, mut best: Best, effort: &mut Effort) -> Best {
    if best.limit.is_none() {
        let budget = effort.left() / 2;
        if let Some(plan) = improve(problem, &best.loads, best.bound, budget, effort) {
            best.offer(problem, plan);
        }
    }
    best
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

/// Alternatives are tried only this deep.
const DEEPEST: usize = 3;

impl Dive<'_, '_, '_> {
    fn run(&mut self, mut master: Master, mut spent: u64, mut turned_down: Vec<(usize, Parts)>, mut depth: usize) {
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
            if problem.reach.next(spent + priced.whole_cost()) >= self.best.cost {
                break;
            }
            let sure: Vec<(usize, Parts, u32)> = master
                .in_use()
                .into_iter()
                .filter(|(_, level)| *level >= 1.0 - LEVEL)
                .map(|(pattern, level)| (pattern.stock, pattern.parts.clone(), (level + LEVEL) as u32))
                .collect();
            if sure.is_empty() {
                let Some((stock, parts)) = likeliest(&master, &turned_down) else { break };
                let cost = problem.costs[stock];
                if depth < DEEPEST && turned_down.len() < self.most {
                    let mut child = master.clone();
                    child.fix(stock, &parts, 1);
                    child.make_feasible(self.tools.effort);
                    self.fixed.push(Load { stock, times: 1, parts: parts.clone() });
                    self.run(child, spent + cost, turned_down.clone(), depth + 1);
                    self.fixed.pop();
                    turned_down.push((stock, parts));
                    continue;
                }
                master.fix(stock, &parts, 1);
                self.fixed.push(Load { stock, times: 1, parts });
                spent += cost;
                depth += 1;
            }
            for (stock, parts, times) in sure {
                spent += problem.costs[stock] * u64::from(times);
                master.fix(stock, &parts, times);
                self.fixed.push(Load { stock, times, parts });
            }
            master.make_feasible(self.tools.effort);
        }
        self.fixed.truncate(height);
    }

    /// Completes the decided part with a quick plan: sometimes that is all it takes.
    fn finish_quickly(&mut self, master: &Master) {
        let Some(supply) = master.problem.supply_after(&self.fixed) else { return };
        if let Some(rest) = best_first_fit(master.problem, &master.need, &supply) {
            let mut plan = self.fixed.clone();
            plan.extend(rest);
            self.best.offer(master.problem, plan);
        }
    }
}

/// The pattern nearest to a whole board, the fuller one of two alike.
fn likeliest(master: &Master, turned_down: &[(usize, Parts)]) -> Option<(usize, Parts)> {
    let problem = master.problem;
    let spare = |stock: usize, parts: &Parts| problem.rooms[stock].saturating_sub(problem.taken(parts));
    let mut best: Option<(f64, usize, usize, &Parts)> = None;
    for (pattern, level) in &master.in_use() {
        if turned_down.iter().any(|(stock, parts)| *stock == pattern.stock && *parts == pattern.parts) {
            continue;
        }
        let waste = spare(pattern.stock, &pattern.parts);
        let better =
            best.is_none_or(|(held, spare, ..)| *level > held + LEVEL || *level > held - LEVEL && waste < spare);
        if better {
            best = Some((*level, waste, pattern.stock, &pattern.parts));
        }
    }
    best.map(|(_, _, stock, parts)| (stock, parts.clone()))
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
                if bound >= best.cost || self.open.len() * node.held() > MOST_HELD {
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
        let budget = tools.effort.left() / 10;
        dive(&node, 0, budget, best, tools);
        if bound >= best.cost {
            return;
        }
        let branched = if priced.ended { fraction(&node) } else { None };
        let Some((side, at)) = branched else {
            if node.covered() {
                let whole = node.in_use().into_iter().map(|(pattern, level)| Load {
                    stock: pattern.stock,
                    times: level.round() as u32,
                    parts: pattern.parts.clone(),
                });
                best.offer(problem, whole.collect());
            }
            if bound < best.cost {
                self.stuck = self.stuck.min(bound);
            }
            return;
        };
        for (sense, rhs) in [(Sense::AtLeast, at.ceil()), (Sense::AtMost, at.floor())] {
            let mut child = node.clone();
            child.branch(side.clone(), sense, rhs);
            child.make_feasible(tools.effort);
            self.next -= 1;
            self.open.insert((bound, self.next), child);
        }
    }
}

/// What to branch on: a number of boards that is not whole, else an item at a place.
fn fraction(node: &Master) -> Option<(Side, f64)> {
    let problem = node.problem;
    let kinds = problem.rooms.len();
    let used = node.in_use();
    let off = |value: f64| (value - value.round()).abs();
    let mut boards = vec![0.0; kinds];
    for (pattern, level) in &used {
        boards[pattern.stock] += level;
    }
    let all: f64 = boards.iter().sum();
    if off(all) > WHOLE {
        return Some((Side::Boards(vec![1.0; kinds]), all));
    }
    let kind = (0..kinds).max_by(|&a, &b| off(boards[a]).total_cmp(&off(boards[b])).then(b.cmp(&a)))?;
    if off(boards[kind]) > WHOLE {
        let weights = (0..kinds).map(|k| if k == kind { 1.0 } else { 0.0 }).collect();
        return Some((Side::Boards(weights), boards[kind]));
    }
    let mut flow: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for (pattern, level) in &used {
        for (item, place) in node.places(&pattern.parts) {
            *flow.entry((place, item)).or_insert(0.0) += level;
        }
    }
    // The longest pieces are put down first: deciding about them decides most.
    let mut best: Option<(f64, usize, usize, f64)> = None;
    for (&(place, item), &level) in &flow {
        let score = off(level);
        if score > WHOLE && best.is_none_or(|(held, at, ..)| at == place && score > held + TINY) {
            best = Some((score, place, item, level));
        } else if best.is_some_and(|(_, at, ..)| at < place) {
            break;
        }
    }
    best.map(|(_, place, item, level)| (Side::Place(item, place), level))
}
