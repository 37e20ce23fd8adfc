//! The master problem: how often each pattern is cut, as a linear programme, with patterns added as they pay.
//!
//! Column generation after Gilmore and Gomory (Operations Research 9, 1961, and 11, 1963). The bound that comes
//! out is not the programme's floating-point value: its duals are rounded to whole numbers, the pattern worth most
//! at those prices is found exactly, and the bound is computed from both in whole numbers.

use super::effort::Effort;
use super::price::{Parts, Places, Pricer};
use super::problem::{Load, Problem};
use super::simplex::{LEVEL, Lp, Sense};

/// Price of leaving a row uncovered, in dearest boards: far beyond what any row is worth.
const UNCOVERED: f64 = 60.0;
/// Price of what is not to be used any more: dear, and not as dear as leaving a row uncovered.
const OUT_OF_USE: f64 = UNCOVERED / 2.0;
/// Prices are rounded to the dearest board over this.
const FINE: f64 = (1u64 << 42) as f64;
/// A pattern pays when it beats its board by more than this share of the dearest board.
const PAYS: f64 = 2e-8;
/// How far off the programme's value may be, in units of cost.
const VALUE: f64 = 1e-6;
/// A pattern is in use above this level: finer than [`LEVEL`], as branching looks at small shares too.
const IN_USE: f64 = 1e-7;
/// The share of the best prices so far in the ones that patterns are looked for at.
const SMOOTHING: f64 = 0.75;

/// A condition on the plan beyond the demand: where the search has branched.
#[derive(Debug, Clone)]
pub(super) enum Side {
    /// A weighted number of boards: one weight a kind.
    Boards(Vec<f64>),
    /// How often an item is put down at a place on the board (boards are filled longest first).
    Place(usize, usize),
}

#[derive(Debug, Clone)]
struct SideRow {
    side: Side,
    sense: Sense,
}

/// What a column of the programme stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    /// That a row is not met, at a price that nothing is worth.
    Unmet,
    /// More than a row asks for, or less than it allows.
    Slack,
    /// A longer piece's place used for a shorter one: holds the duals in order, see [`Master::price_out`].
    Swap,
    /// A pattern, by its number.
    Pattern(usize),
}

/// A pattern in the master.
#[derive(Debug, Clone)]
pub(super) struct Pattern {
    column: usize,
    pub stock: usize,
    pub parts: Parts,
    proper: bool,
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

impl Priced {
    /// The least whole cost that is not below the value.
    pub(super) fn whole_cost(&self) -> u64 {
        whole_cost(self.value)
    }
}

fn whole_cost(value: f64) -> u64 {
    (value - VALUE).ceil().max(0.0) as u64
}

/// Tools that are shared along a search and not copied with a master.
pub(super) struct Tools<'e, 's> {
    pub pricer: Pricer,
    pub effort: &'e mut Effort<'s>,
}

/// The linear programme with its patterns, for what is still needed.
#[derive(Clone)]
pub(super) struct Master<'p> {
    pub problem: &'p Problem,
    /// What is still to be cut.
    pub need: Vec<u32>,
    lp: Lp,
    columns: Vec<Column>,
    patterns: Vec<Pattern>,
    sides: Vec<SideRow>,
    swapping: bool,
    centre: Option<Vec<f64>>,
}

/// Whole-number prices: of each item, each side condition, and what a board costs once those are in.
struct WholePrices {
    prices: Vec<f64>,
    sides: Vec<f64>,
    places: Places,
    board: Vec<f64>,
}

impl<'p> Master<'p> {
    /// A master for the whole demand, with the patterns of a first plan.
    pub(super) fn new(problem: &'p Problem, first: &[Load]) -> Self {
        let items = problem.sizes.len();
        // To begin with, each piece is worth the room it takes on the board that gives most room for its cost.
        let rate = problem.bought().map(|stock| problem.costs[stock] as f64 / problem.rooms[stock] as f64);
        let rate = rate.fold(f64::INFINITY, f64::min) / problem.dearest() as f64;
        let by_room = problem.sizes.iter().map(|&size| size as f64 * rate).collect();
        let lp = Lp::covered(problem.demand.iter().map(|&count| f64::from(count)).collect(), UNCOVERED);
        let mut master = Self {
            problem,
            need: problem.demand.clone(),
            lp,
            columns: vec![Column::Unmet; items],
            patterns: Vec::new(),
            sides: Vec::new(),
            swapping: items > 1,
            centre: Some(by_room),
        };
        for item in 0..items {
            master.add_column(Column::Slack, 0.0, vec![(item, -1.0)]);
        }
        for item in 1..items {
            master.add_column(Column::Swap, 0.0, vec![(item - 1, -1.0), (item, 1.0)]);
        }
        for item in 0..items {
            for stock in 0..problem.rooms.len() {
                let fits = u32::try_from(problem.rooms[stock] / problem.sizes[item]).unwrap_or(u32::MAX);
                if fits > 0 {
                    master.add(stock, vec![(item, fits.min(problem.demand[item]))]);
                }
            }
        }
        for load in first {
            if load.parts.len() > 1 {
                master.add(load.stock, load.parts.clone());
            }
        }
        master
    }

    /// Adds a row for each kind of offcut: no more of it than there are. The pieces that first plans put on offcuts
    /// stay, so that the programme is feasible still.
    pub(super) fn hold_offcuts(&mut self) {
        let problem = self.problem;
        for (stock, count) in problem.offcuts() {
            let weights = (0..problem.rooms.len()).map(|other| f64::from(u8::from(other == stock))).collect();
            self.branch(Side::Boards(weights), Sense::AtMost, f64::from(count));
        }
    }

    /// Numbers that a copy of this master holds, roughly.
    pub(super) fn held(&self) -> usize {
        let rows = self.need.len() + self.sides.len();
        rows * rows + 20 * self.columns.len()
    }

    fn add_column(&mut self, kind: Column, cost: f64, entries: Vec<(usize, f64)>) -> usize {
        self.columns.push(kind);
        self.lp.add_column(cost, entries)
    }

    fn add(&mut self, stock: usize, parts: Parts) {
        let cost = self.problem.costs[stock] as f64 / self.problem.dearest() as f64;
        let mut entries: Vec<(usize, f64)> = parts.iter().map(|&(item, copies)| (item, f64::from(copies))).collect();
        for (number, row) in self.sides.iter().enumerate() {
            let value = self.on_side(&row.side, stock, &parts);
            if value != 0.0 {
                entries.push((self.need.len() + number, value));
            }
        }
        let column = self.add_column(Column::Pattern(self.patterns.len()), cost, entries);
        self.patterns.push(Pattern { column, stock, parts, proper: true });
    }

    fn on_side(&self, side: &Side, stock: usize, parts: &Parts) -> f64 {
        match side {
            Side::Boards(weights) => weights[stock],
            Side::Place(item, place) => f64::from(u8::from(self.places(parts).any(|at| at == (*item, *place)))),
        }
    }

    /// Each piece of a pattern with the place where it is put down.
    pub(super) fn places<'a>(&'a self, parts: &'a Parts) -> impl Iterator<Item = (usize, usize)> + 'a {
        let mut at = 0;
        parts.iter().flat_map(|&(item, copies)| (0..copies).map(move |_| item)).map(move |item| {
            let place = at;
            at += self.problem.sizes[item];
            (item, place)
        })
    }

    /// Adds a condition; the next pricing-out takes it into account.
    pub(super) fn branch(&mut self, side: Side, sense: Sense, rhs: f64) {
        let entries: Vec<(usize, f64)> = self
            .patterns
            .iter()
            .map(|pattern| (pattern.column, self.on_side(&side, pattern.stock, &pattern.parts)))
            .filter(|entry| entry.1 != 0.0)
            .collect();
        let row = self.need.len() + self.sides.len();
        self.lp.add_row(&entries, sense, rhs);
        self.columns.push(Column::Slack);
        let towards = match sense {
            Sense::AtLeast => 1.0,
            Sense::AtMost => -1.0,
        };
        self.add_column(Column::Unmet, UNCOVERED, vec![(row, towards)]);
        self.sides.push(SideRow { side, sense });
        if let Some(centre) = &mut self.centre {
            centre.push(0.0);
        }
    }

    /// Patterns in use, with how often; most used first within the order of the basis.
    pub(super) fn in_use(&self) -> Vec<(&Pattern, f64)> {
        let pattern = |(column, level)| match self.columns[column] {
            Column::Pattern(number) if level > IN_USE => Some((number, level)),
            _ => None,
        };
        let mut used: Vec<(usize, f64)> = self.lp.levels().filter_map(pattern).collect();
        used.sort_by_key(|entry| entry.0);
        used.into_iter().map(|(number, level)| (&self.patterns[number], level)).collect()
    }

    /// Whether everything is covered by patterns alone.
    pub(super) fn covered(&self) -> bool {
        let unmet = |column: usize| self.columns[column] == Column::Unmet;
        self.lp.feasible() && self.lp.levels().all(|(column, level)| level < LEVEL || !unmet(column))
    }

    /// Takes `times` boards of a pattern as decided.
    pub(super) fn fix(&mut self, stock: usize, parts: &Parts, times: u32) {
        for &(item, copies) in parts {
            let left = self.need[item].saturating_sub(copies.saturating_mul(times));
            self.need[item] = left;
            self.lp.set_rhs(item, f64::from(left));
        }
        for number in 0..self.sides.len() {
            let value = self.on_side(&self.sides[number].side, stock, parts) * f64::from(times);
            if value != 0.0 {
                let row = self.need.len() + number;
                self.lp.set_rhs(row, self.lp.rhs(row) - value);
            }
        }
    }

    /// Makes the programme feasible again after [`Master::fix`] or [`Master::branch`], and turns away patterns
    /// that now hold more of an item than is needed.
    pub(super) fn make_feasible(&mut self, effort: &mut Effort) {
        self.lp.make_feasible(effort);
        for pattern in &mut self.patterns {
            let proper = pattern.parts.iter().all(|&(item, copies)| copies <= self.need[item]);
            if pattern.proper && !proper {
                pattern.proper = false;
                self.lp.set_cost(pattern.column, OUT_OF_USE);
            }
        }
    }

    /// Adds patterns while they pay, first with the help of swaps (a longer piece's place used for a shorter one:
    /// valid dual inequalities after Valério de Carvalho, INFORMS Journal on Computing 17, 2005; with them
    /// the duals come to rest sooner), then without, so that the levels are those of patterns alone.
    pub(super) fn price_out(&mut self, tools: &mut Tools, goal: u64, ceiling: u64) -> Priced {
        let first = self.price_in(tools, goal, ceiling);
        if !std::mem::take(&mut self.swapping) {
            return first;
        }
        for (column, kind) in self.columns.iter().enumerate() {
            if *kind == Column::Swap {
                self.lp.set_cost(column, OUT_OF_USE);
            }
        }
        if !first.ended || first.bound >= ceiling {
            return first;
        }
        let second = self.price_in(tools, goal, ceiling);
        Priced { bound: first.bound.max(second.bound), ..second }
    }

    /// Adds patterns while they pay. Stops early when the value has come down to `goal`, which no plan is below, or
    /// when the bound reaches `ceiling`, beyond which no plan is wanted.
    fn price_in(&mut self, tools: &mut Tools, goal: u64, ceiling: u64) -> Priced {
        let problem = self.problem;
        let dearest = problem.dearest() as f64;
        let grain = (FINE / dearest).floor().max(1.0);
        let room = problem.rooms.iter().copied().max().unwrap_or(0);
        let mut bound = 0u64;
        let mut best = i128::MIN;
        // Prices are taken between the programme's own and the best so far (smoothing after Wentges, International
        // Transactions in Operational Research 4, 1997): far fewer rounds when many plans are alike.
        let mut smoothing = SMOOTHING;
        let mut duals = self.lp.optimise(tools.effort);
        for _ in 0..40 * self.need.len() + 400 {
            let value = self.lp.value() * dearest;
            if value <= goal as f64 + VALUE {
                return Priced { value, bound, ended: true };
            }
            if tools.effort.over() {
                break;
            }
            let between: Vec<f64> = match &self.centre {
                Some(centre) => centre.iter().zip(&duals).map(|(c, d)| smoothing * c + (1.0 - smoothing) * d).collect(),
                None => duals.clone(),
            };
            let whole = self.whole_prices(&between, dearest * grain, grain);
            let Some(work) = tools.pricer.fill(&problem.sizes, &whole.prices, &self.need, room, &whole.places) else {
                break;
            };
            tools.effort.spend(work);
            let best_on = |room: &usize| tools.pricer.best(*room).max(0.0);
            let reduced: Vec<f64> =
                whole.board.iter().zip(&problem.rooms).map(|(cost, room)| cost - best_on(room)).collect();
            let total = self.bound(&whole, &reduced, ceiling);
            bound = bound.max(u64::try_from((total + grain as i128 - 1).div_euclid(grain as i128)).unwrap_or(0));
            if total >= best {
                best = total;
                self.centre = Some(between);
            }
            let met = self.sides.is_empty() && problem.reach.next(bound) >= problem.reach.next(whole_cost(value));
            if bound >= ceiling || met {
                return Priced { value, bound, ended: true };
            }
            if self.add_paying(tools, &whole, &duals) > 0 {
                smoothing = SMOOTHING;
                duals = self.lp.optimise(tools.effort);
            } else if smoothing > 0.0 {
                // Nothing pays at the programme's own prices: go nearer to them.
                smoothing = if smoothing < 0.3 { 0.0 } else { smoothing * 0.6 };
            } else {
                let ended = reduced.iter().all(|&reduced| reduced > -2.0 * PAYS * dearest * grain);
                return Priced { value, bound, ended };
            }
        }
        Priced { value: self.lp.value() * dearest, bound, ended: false }
    }

    /// Whole-number prices from duals.
    fn whole_prices(&self, duals: &[f64], scale: f64, grain: f64) -> WholePrices {
        let items = self.need.len();
        let rounded = |dual: f64| (dual * scale).trunc();
        let prices = duals[..items].iter().map(|&dual| rounded(dual.max(0.0))).collect();
        let sides: Vec<f64> = self
            .sides
            .iter()
            .zip(&duals[items..])
            .map(|(row, &dual)| match row.sense {
                Sense::AtLeast => rounded(dual.max(0.0)),
                Sense::AtMost => rounded(dual.min(0.0)),
            })
            .collect();
        let mut places = Places::new();
        let mut board: Vec<f64> = self.problem.costs.iter().map(|&cost| cost as f64 * grain).collect();
        for (row, &dual) in self.sides.iter().zip(&sides) {
            match &row.side {
                Side::Boards(weights) => {
                    board.iter_mut().zip(weights).for_each(|(cost, weight)| *cost -= dual * weight);
                }
                Side::Place(item, place) if dual != 0.0 => *places.entry((*item, *place)).or_insert(0.0) += dual,
                Side::Place(..) => {}
            }
        }
        WholePrices { prices, sides, places, board }
    }

    /// The Lagrangian bound, in whole prices: no plan cheaper than `ceiling` costs less.
    fn bound(&self, whole: &WholePrices, reduced: &[f64], ceiling: u64) -> i128 {
        let mut total: i128 = 0;
        for (&price, &need) in whole.prices.iter().zip(&self.need) {
            total += price as i128 * i128::from(need);
        }
        for (number, &dual) in whole.sides.iter().enumerate() {
            total += dual as i128 * self.lp.rhs(self.need.len() + number).round() as i128;
        }
        for (stock, &reduced) in reduced.iter().enumerate() {
            // So many boards at most, in a plan that is wanted.
            let bought = ceiling / self.problem.costs[stock].max(1);
            let boards = self.problem.supply[stock].map_or(bought, u64::from);
            total += reduced.min(0.0) as i128 * i128::from(boards);
        }
        total
    }

    /// Adds those of the patterns worth most at the whole-number prices that pay at the programme's own duals.
    fn add_paying(&mut self, tools: &mut Tools, whole: &WholePrices, duals: &[f64]) -> usize {
        let problem = self.problem;
        let mut found: Vec<(usize, Parts)> = Vec::new();
        for &room in &problem.rooms {
            let parts = tools.pricer.pattern(room, &problem.sizes, &whole.places);
            if let Some(stock) = problem.rooms.iter().position(|&other| other == room) {
                found.push((stock, parts));
            }
        }
        if whole.places.is_empty() {
            let mut endings: Vec<(f64, usize, usize)> = Vec::new();
            for (stock, &cost) in whole.board.iter().enumerate() {
                let on_it = tools.pricer.endings(problem.rooms[stock]);
                endings.extend(on_it.into_iter().map(|(value, stage)| (cost - value, stock, stage)));
            }
            endings.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
            endings.truncate((self.need.len() / 10).clamp(6, 40));
            for (_, stock, stage) in endings {
                found.push((stock, tools.pricer.ending(stage, problem.rooms[stock], &problem.sizes)));
            }
        }
        found.retain(|(stock, parts)| !parts.is_empty() && self.reduced(*stock, parts, duals) < -PAYS);
        if whole.places.is_empty() && self.sides.iter().all(|row| matches!(row.side, Side::Boards(_))) {
            for (stock, parts) in &mut found {
                self.top_up(*stock, parts);
            }
        }
        found.sort();
        found.dedup();
        let count = found.len();
        for (stock, parts) in found {
            self.add(stock, parts);
        }
        count
    }

    /// Cost of a pattern less its worth at the duals, in dearest boards.
    fn reduced(&self, stock: usize, parts: &Parts, duals: &[f64]) -> f64 {
        let cost = self.problem.costs[stock] as f64 / self.problem.dearest() as f64;
        let worth: f64 = parts.iter().map(|&(item, copies)| duals[item] * f64::from(copies)).sum();
        let sides = self.sides.iter().zip(&duals[self.need.len()..]);
        let beside: f64 = sides.map(|(row, dual)| dual * self.on_side(&row.side, stock, parts)).sum();
        cost - worth - beside
    }

    /// Fills what room is left with pieces that are priced at nothing: it costs nothing and may save a board later.
    fn top_up(&self, stock: usize, parts: &mut Parts) {
        let mut left = self.problem.rooms[stock] - self.problem.taken(parts);
        let held = parts.clone();
        let first = self.problem.sizes.partition_point(|&size| size > left);
        for item in first..self.need.len() {
            let size = self.problem.sizes[item];
            let have = held.iter().find(|part| part.0 == item).map_or(0, |part| part.1);
            let more = self.need[item].saturating_sub(have).min((left / size) as u32);
            if more > 0 {
                left -= size * more as usize;
                match parts.iter_mut().find(|part| part.0 == item) {
                    Some(part) => part.1 += more,
                    None => parts.push((item, more)),
                }
            }
        }
        parts.sort_unstable();
    }
}
