//! The master problem: how often each pattern is cut, as a linear programme, with patterns added as they pay.
//!
//! Column generation after Gilmore and Gomory (Operations Research 9, 1961, and 11, 1963). The programme is solved in
//! its dual, where a new pattern is a new constraint: `microlp` takes those up without solving from scratch. The bound
//! that comes out is not the programme's floating-point value: its prices are rounded to whole numbers, the best pattern
//! at those prices is found exactly, and the bound is computed from both in whole numbers.

use std::time::Duration;

use microlp::{ComparisonOp, Error, OptimizationDirection, Problem as Programme, Solution, SolveOutcome, Variable};

use super::effort::Effort;
use super::price::{Parts, Pricer};
use super::problem::{Load, Problem};

/// Price of leaving a row uncovered, in dearest boards: far beyond what any row is worth.
const UNCOVERED: f64 = 60.0;
/// Prices are rounded to the dearest board over this.
const FINE: f64 = (1u64 << 42) as f64;
/// A pattern pays when it beats its board by more than this share of the dearest board.
const PAYS: f64 = 2e-8;
/// No programme here takes a tenth of this: it only ends one that goes round in circles.
const LONGEST: Duration = Duration::from_secs(20);

/// A condition on the boards beyond the demand: where the search has branched, or what there is.
#[derive(Debug, Clone)]
pub(super) struct BoardRow {
    /// What a board of each kind counts for.
    pub weights: Vec<f64>,
    /// At least `boards`, or else at most.
    pub at_least: bool,
    /// How many.
    pub boards: f64,
}

impl BoardRow {
    /// At most so many boards of one kind.
    pub(super) fn at_most(problem: &Problem, stock: usize, boards: f64) -> Self {
        let weights = (0..problem.rooms.len()).map(|other| f64::from(u8::from(other == stock))).collect();
        Self { weights, at_least: false, boards }
    }
}

/// One way to cut a board.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pattern {
    /// The kind of board.
    pub stock: usize,
    /// What is cut from it.
    pub parts: Parts,
}

/// What pricing out came to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Priced {
    /// Value of the linear programme, in units of cost.
    pub value: f64,
    /// No whole-number plan costs less than this; safe against rounding.
    pub bound: u64,
    /// Whether no pattern pays any more (or the bound can't rise any more).
    pub ended: bool,
}

/// What is shared along a search and not copied with a master.
pub(super) struct Tools<'e, 's> {
    /// Finds the best patterns.
    pub pricer: Pricer,
    /// How much work may still be done.
    pub effort: &'e mut Effort<'s>,
}

/// The linear programme with its patterns, for what is still needed.
#[derive(Clone)]
pub(super) struct Master<'p> {
    /// The whole problem.
    pub problem: &'p Problem,
    /// What is still to be cut.
    pub need: Vec<u32>,
    /// The patterns found so far.
    pub patterns: Vec<Pattern>,
    rows: Vec<BoardRow>,
    /// Whether it has never been priced out.
    fresh: bool,
}

/// The dual, solved: one price for each size, then one for each row.
struct Dual {
    solution: Solution,
    variables: Vec<Variable>,
}

/// Prices rounded to whole numbers, and what a board of each kind costs once those of the rows are in.
struct WholePrices {
    sizes: Vec<f64>,
    rows: Vec<f64>,
    boards: Vec<f64>,
}

impl<'p> Master<'p> {
    /// A master for the whole demand, with the patterns of a first plan.
    pub(super) fn new(problem: &'p Problem, first: &[Load]) -> Self {
        let mut patterns: Vec<Pattern> =
            first.iter().map(|load| Pattern { stock: load.stock, parts: load.parts.clone() }).collect();
        for (item, (&size, &wanted)) in problem.sizes.iter().zip(&problem.demand).enumerate() {
            for (stock, &room) in problem.rooms.iter().enumerate() {
                let fits = u32::try_from(room / size).unwrap_or(u32::MAX).min(wanted);
                if fits > 0 {
                    patterns.push(Pattern { stock, parts: vec![(item, fits)] });
                }
            }
        }
        let rows =
            problem.offcuts().map(|(stock, count)| BoardRow::at_most(problem, stock, f64::from(count))).collect();
        Self { problem, need: problem.demand.clone(), patterns, rows, fresh: true }
    }

    /// Adds a condition; the next pricing-out takes it into account.
    pub(super) fn add_row(&mut self, row: BoardRow) {
        self.rows.push(row);
    }

    /// Takes boards as decided; no pattern may hold more than is needed afterwards.
    pub(super) fn fix(&mut self, load: &Load) {
        for &(item, copies) in &load.parts {
            self.need[item] = self.need[item].saturating_sub(copies.saturating_mul(load.times));
        }
        for row in &mut self.rows {
            row.boards -= row.weights[load.stock] * f64::from(load.times);
        }
        for pattern in &mut self.patterns {
            pattern.parts.iter_mut().for_each(|(item, copies)| *copies = self.need[*item].min(*copies));
            pattern.parts.retain(|part| part.1 > 0);
        }
        self.patterns.retain(|pattern| !pattern.parts.is_empty());
        self.patterns.sort_unstable();
        self.patterns.dedup();
    }

    /// Adds patterns while they pay. Stops early when the value has come down to `goal`, which no plan is below, or
    /// when the bound reaches `ceiling`, beyond which no plan is wanted.
    ///
    /// The first time a longer piece is held to be worth no less than a shorter one, which is true of some best prices and
    /// finds them quickly (valid dual inequalities after Valério de Carvalho, INFORMS Journal on Computing 17, 2005);
    /// then not, so that the levels are those of patterns alone.
    pub(super) fn price_out(&mut self, tools: &mut Tools, goal: u64, ceiling: u64) -> Priced {
        if !std::mem::take(&mut self.fresh) {
            return self.price(tools, goal, ceiling, false);
        }
        let first = self.price(tools, goal, ceiling, true);
        if !first.ended || first.bound >= ceiling {
            return first;
        }
        let second = self.price(tools, goal, ceiling, false);
        Priced { bound: first.bound.max(second.bound), ..second }
    }

    fn price(&mut self, tools: &mut Tools, goal: u64, ceiling: u64, ordered: bool) -> Priced {
        let problem = self.problem;
        let dearest = problem.dearest() as f64;
        let grain = (FINE / dearest).floor().max(1.0);
        let room = problem.rooms.iter().copied().max().unwrap_or(0);
        let mut priced = Priced { value: f64::INFINITY, bound: 0, ended: false };
        let mut solved = self.dual(ordered, tools.effort);
        for _ in 0..40 * self.need.len() + 400 {
            let Some(dual) = solved else { break };
            priced.value = dual.solution.objective() * dearest;
            priced.ended = priced.value <= goal as f64 + 1e-6;
            if priced.ended || tools.effort.over() {
                break;
            }
            let duals: Vec<f64> = dual.variables.iter().map(|&price| dual.solution.var_value(price)).collect();
            let whole = self.whole_prices(&duals, dearest * grain, grain);
            let Some(work) = tools.pricer.fill(&problem.sizes, &whole.sizes, &self.need, room) else { break };
            tools.effort.spend(work);
            let gains = whole.boards.iter().zip(&problem.rooms).map(|(cost, room)| cost - tools.pricer.best(*room));
            let reduced: Vec<f64> = gains.collect();
            let total = self.bound(&whole, &reduced, ceiling);
            priced.bound =
                priced.bound.max(u64::try_from((total + grain as i128 - 1).div_euclid(grain as i128)).unwrap_or(0));
            let level = (priced.value - 1e-6).ceil().max(0.0) as u64;
            let met = self.rows.is_empty() && problem.reach.next(priced.bound) >= problem.reach.next(level);
            let paying = self.paying(tools, &whole, &duals);
            let none_left = paying.is_empty() && reduced.iter().all(|&gain| gain > -2.0 * PAYS * dearest * grain);
            priced.ended = priced.bound >= ceiling || met || none_left;
            if priced.ended || paying.is_empty() {
                break;
            }
            solved = self.take_up(dual, paying, tools.effort);
        }
        priced
    }

    /// Each pattern with how often it is cut, where it is: the programme itself, for the patterns there are. `None` when
    /// they can't keep the rows.
    pub(super) fn levels(&self, effort: &mut Effort) -> Option<Vec<(&Pattern, f64)>> {
        effort.spend(self.work());
        let mut programme = Programme::new(OptimizationDirection::Minimize);
        programme.set_time_limit(LONGEST);
        let mut sizes = vec![Vec::new(); self.need.len()];
        let mut rows = vec![Vec::new(); self.rows.len()];
        let mut variables = Vec::with_capacity(self.patterns.len());
        for pattern in &self.patterns {
            let times = programme.add_var(self.cost(pattern), (0.0, f64::INFINITY));
            for &(item, copies) in &pattern.parts {
                sizes[item].push((times, f64::from(copies)));
            }
            for (row, terms) in self.rows.iter().zip(&mut rows) {
                terms.push((times, row.weights[pattern.stock]));
            }
            variables.push(times);
        }
        for (terms, &need) in sizes.iter().zip(&self.need).filter(|(_, need)| **need > 0) {
            programme.add_constraint(terms, ComparisonOp::Ge, f64::from(need));
        }
        for (terms, row) in rows.iter().zip(&self.rows) {
            programme.add_constraint(terms, if row.at_least { ComparisonOp::Ge } else { ComparisonOp::Le }, row.boards);
        }
        let solution = finished(programme.solve())?;
        let levels = self.patterns.iter().zip(variables).map(|(pattern, times)| (pattern, solution.var_value(times)));
        Some(levels.filter(|(_, level)| *level > 1e-7).collect())
    }

    /// What solving the programme takes, in steps of work: measured, within a factor of four from ten sizes to 400.
    fn work(&self) -> u64 {
        200 * (self.patterns.len() * (self.need.len() + self.rows.len())) as u64
    }

    /// The cost of a pattern's board, in dearest boards.
    fn cost(&self, pattern: &Pattern) -> f64 {
        self.problem.costs[pattern.stock] as f64 / self.problem.dearest() as f64
    }

    /// What the pieces of a pattern and the rows that count its board are worth: the left side of its constraint.
    fn terms<'a, T: Copy>(&'a self, pattern: &'a Pattern, of: &'a [T]) -> impl Iterator<Item = (T, f64)> + 'a {
        let (sizes, rows) = of.split_at(self.need.len());
        let sizes = pattern.parts.iter().map(|&(item, copies)| (sizes[item], f64::from(copies)));
        sizes.chain(self.rows.iter().zip(rows).map(|(row, &of)| (of, row.weights[pattern.stock])))
    }

    /// Most worth of all that is needed, at prices at which no pattern is worth more than its board.
    fn dual(&self, ordered: bool, effort: &mut Effort) -> Option<Dual> {
        effort.spend(self.work());
        let mut programme = Programme::new(OptimizationDirection::Maximize);
        programme.set_time_limit(LONGEST);
        let mut variables: Vec<Variable> =
            self.need.iter().map(|&need| programme.add_var(f64::from(need), (0.0, UNCOVERED))).collect();
        for row in &self.rows {
            let bounds = if row.at_least { (0.0, UNCOVERED) } else { (-UNCOVERED, 0.0) };
            variables.push(programme.add_var(row.boards, bounds));
        }
        for pattern in &self.patterns {
            let terms: Vec<_> = self.terms(pattern, &variables).collect();
            programme.add_constraint(terms, ComparisonOp::Le, self.cost(pattern));
        }
        for pair in variables[..self.need.len()].windows(2).filter(|_| ordered) {
            programme.add_constraint([(pair[0], 1.0), (pair[1], -1.0)], ComparisonOp::Ge, 0.0);
        }
        Some(Dual { solution: finished(programme.solve())?, variables })
    }

    /// The dual with some patterns more, which the master has from then on.
    fn take_up(&mut self, dual: Dual, patterns: Vec<Pattern>, effort: &mut Effort) -> Option<Dual> {
        let Dual { mut solution, variables } = dual;
        for pattern in patterns {
            effort.spend(self.work() / 20);
            let terms: Vec<_> = self.terms(&pattern, &variables).collect();
            solution = finished(solution.add_constraint(terms, ComparisonOp::Le, self.cost(&pattern)))?;
            self.patterns.push(pattern);
        }
        Some(Dual { solution, variables })
    }

    /// Whole-number prices from duals.
    fn whole_prices(&self, duals: &[f64], scale: f64, grain: f64) -> WholePrices {
        let (sizes, rows) = duals.split_at(self.need.len());
        let whole = |dual: f64| (dual * scale).trunc();
        let signed = |(row, &dual): (&BoardRow, &f64)| if row.at_least { dual.max(0.0) } else { dual.min(0.0) };
        let rows: Vec<f64> = self.rows.iter().zip(rows).map(signed).map(whole).collect();
        let mut boards: Vec<f64> = self.problem.costs.iter().map(|&cost| cost as f64 * grain).collect();
        for (row, price) in self.rows.iter().zip(&rows) {
            boards.iter_mut().zip(&row.weights).for_each(|(cost, weight)| *cost -= price * weight);
        }
        WholePrices { sizes: sizes.iter().map(|&dual| whole(dual.max(0.0))).collect(), rows, boards }
    }

    /// The Lagrangian bound, in whole prices: no plan cheaper than `ceiling` costs less.
    fn bound(&self, whole: &WholePrices, reduced: &[f64], ceiling: u64) -> i128 {
        let sizes = whole.sizes.iter().zip(&self.need).map(|(&price, &need)| price as i128 * i128::from(need));
        let rows = whole.rows.iter().zip(&self.rows).map(|(&price, row)| price as i128 * row.boards.round() as i128);
        let boards = reduced.iter().enumerate().map(|(stock, &reduced)| {
            // So many boards at most, in a plan that is wanted.
            let most = self.problem.supply[stock].map_or(ceiling / self.problem.costs[stock].max(1), u64::from);
            reduced.min(0.0) as i128 * i128::from(most)
        });
        sizes.chain(rows).chain(boards).sum()
    }

    /// The best patterns at the whole prices that pay at the programme's own.
    fn paying(&self, tools: &Tools, whole: &WholePrices, duals: &[f64]) -> Vec<Pattern> {
        let mut endings: Vec<(f64, usize, usize)> = Vec::new();
        for (stock, (&cost, &room)) in whole.boards.iter().zip(&self.problem.rooms).enumerate() {
            endings.extend(tools.pricer.endings(room).map(|(worth, stage)| (cost - worth, stock, stage)));
        }
        endings.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        endings.truncate((self.need.len() / 10).clamp(6, 40));
        let pattern = |(_, stock, stage): (f64, usize, usize)| Pattern {
            stock,
            parts: tools.pricer.ending(stage, self.problem.rooms[stock]),
        };
        let worth = |pattern: &Pattern| self.terms(pattern, duals).map(|(price, count)| price * count).sum::<f64>();
        let pays = |pattern: &Pattern| self.cost(pattern) - worth(pattern) < -PAYS;
        let mut patterns: Vec<Pattern> = endings.into_iter().map(pattern).filter(pays).collect();
        patterns.sort_unstable();
        patterns.dedup();
        patterns
    }
}

/// A programme that was solved to its end.
fn finished(solved: Result<SolveOutcome, Error>) -> Option<Solution> {
    solved.ok()?.into_solution().ok()
}
