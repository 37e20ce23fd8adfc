//! A small revised simplex for the master problem: columns and rows may be added, right-hand sides changed,
//! and the basis kept. Primal and dual, with an explicit inverse: masters here have a few hundred rows.
//!
//! Nothing that is reported rests on its floating point: bounds are recomputed in whole numbers from its
//! duals (see `master`), and plans are counted in whole boards.

use super::effort::Effort;

/// Smaller than this counts as zero in a pivot or between two levels.
pub(super) const TINY: f64 = 1e-9;
/// A basic variable below minus this is infeasible.
const FEASIBLE: f64 = 1e-9;
/// What a level may be off by once pivoting is over: rounding gathers between two inversions.
pub(super) const LEVEL: f64 = 1e-6;
/// A reduced cost above minus this is optimal.
const OPTIMAL: f64 = 1e-9;
/// A step of no more than this gets nowhere.
const STALLED: f64 = 1e-10;
/// Ratios that differ by no more than this are a tie.
const TIE: f64 = 1e-12;
/// The least pivot of the dual simplex. Its row is given, so that a small one can't be avoided as in the primal.
const STEEP: f64 = 1e-7;
/// A pivot that comes out smaller than this on the column itself shows that the inverse has drifted.
const DRIFTED: f64 = 1e-10;
/// A basis whose inversion meets no larger pivot than this is singular.
const SINGULAR: f64 = 1e-11;
/// A row that would change by less than this share of the pivot's row stays as it is: the inverse is no more exact.
const UNTOUCHED: f64 = 1e-13;
/// Pivots between two fresh inversions.
const REFRESH: usize = 150;

/// Which side of its right-hand side a row keeps to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sense {
    AtLeast,
    AtMost,
}

/// How the primal simplex chooses its way.
#[derive(Clone, Copy)]
enum Pricing {
    /// By the most that is gained along the edge.
    Devex,
    /// By the lowest number: slow, and never in circles (Bland, Mathematics of Operations Research 2, 1977).
    Bland,
}

/// Minimise cost·x, subject to A·x = rhs and x ≥ 0.
#[derive(Clone)]
pub(super) struct Lp {
    rhs: Vec<f64>,
    columns: Vec<Vec<(usize, f64)>>,
    cost: Vec<f64>,
    basis: Vec<usize>,
    basic: Vec<bool>,
    inverse: Vec<f64>,
    level: Vec<f64>,
    pivots: usize,
}

impl Lp {
    /// A problem whose rows are covered, to begin with, by one artificial column each at `price`.
    /// Artificial column `i` is column `i`.
    pub(super) fn covered(rhs: Vec<f64>, price: f64) -> Self {
        let rows = rhs.len();
        let mut inverse = vec![0.0; rows * rows];
        for row in 0..rows {
            inverse[row * rows + row] = 1.0;
        }
        Self {
            columns: (0..rows).map(|row| vec![(row, 1.0)]).collect(),
            cost: vec![price; rows],
            basis: (0..rows).collect(),
            basic: vec![true; rows],
            inverse,
            level: rhs.clone(),
            rhs,
            pivots: 0,
        }
    }

    fn rows(&self) -> usize {
        self.rhs.len()
    }

    /// Adds a column outside the basis and gives its number.
    pub(super) fn add_column(&mut self, cost: f64, entries: Vec<(usize, f64)>) -> usize {
        self.columns.push(entries);
        self.cost.push(cost);
        self.basic.push(false);
        self.columns.len() - 1
    }

    /// Adds a row with its own slack column, which enters the basis.
    pub(super) fn add_row(&mut self, entries: &[(usize, f64)], sense: Sense, rhs: f64) {
        let slack = match sense {
            Sense::AtLeast => -1.0,
            Sense::AtMost => 1.0,
        };
        let old = self.rows();
        let new = old + 1;
        for &(column, value) in entries {
            self.columns[column].push((old, value));
        }
        let mut inverse = vec![0.0; new * new];
        for row in 0..old {
            inverse[row * new..row * new + old].copy_from_slice(&self.inverse[row * old..(row + 1) * old]);
        }
        for place in 0..old {
            let value: f64 = self.columns[self.basis[place]].iter().filter(|e| e.0 == old).map(|e| e.1).sum();
            if value != 0.0 {
                for k in 0..old {
                    inverse[old * new + k] -= slack * value * self.inverse[place * old + k];
                }
            }
        }
        inverse[old * new + old] = slack;
        self.inverse = inverse;
        self.rhs.push(rhs);
        let column = self.add_column(0.0, vec![(old, slack)]);
        self.basic[column] = true;
        self.basis.push(column);
        self.level.push(0.0);
        self.measure();
    }

    /// Changes a right-hand side; [`Lp::make_feasible`] makes the basis feasible again.
    pub(super) fn set_rhs(&mut self, row: usize, value: f64) {
        self.rhs[row] = value;
    }

    /// The right-hand side of a row.
    pub(super) fn rhs(&self, row: usize) -> f64 {
        self.rhs[row]
    }

    /// Changes the cost of a column.
    pub(super) fn set_cost(&mut self, column: usize, cost: f64) {
        self.cost[column] = cost;
    }

    /// The basic columns and their levels.
    pub(super) fn levels(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.basis.iter().copied().zip(self.level.iter().copied())
    }

    /// Cost of the present basis.
    pub(super) fn value(&self) -> f64 {
        self.levels().map(|(column, level)| self.cost[column] * level).sum()
    }

    /// One dual price a row.
    pub(super) fn duals(&self) -> Vec<f64> {
        let rows = self.rows();
        let mut duals = vec![0.0; rows];
        for (place, &column) in self.basis.iter().enumerate() {
            let cost = self.cost[column];
            if cost != 0.0 {
                for (dual, inverse) in duals.iter_mut().zip(&self.inverse[place * rows..(place + 1) * rows]) {
                    *dual += cost * inverse;
                }
            }
        }
        duals
    }

    /// Levels of the basic columns from the right-hand side.
    fn measure(&mut self) {
        let rows = self.rows();
        for place in 0..rows {
            let line = &self.inverse[place * rows..(place + 1) * rows];
            self.level[place] = line.iter().zip(&self.rhs).map(|(a, b)| a * b).sum();
        }
    }

    /// Inverts the basis afresh. Columns that became dependent by rounding give way to artificial ones.
    fn refresh(&mut self) {
        let rows = self.rows();
        let mut matrix = vec![0.0; rows * rows];
        for (place, &column) in self.basis.iter().enumerate() {
            for &(row, value) in &self.columns[column] {
                matrix[row * rows + place] += value;
            }
        }
        let mut inverse = vec![0.0; rows * rows];
        for row in 0..rows {
            inverse[row * rows + row] = 1.0;
        }
        for place in 0..rows {
            let mut best = place;
            for row in place + 1..rows {
                if matrix[row * rows + place].abs() > matrix[best * rows + place].abs() {
                    best = row;
                }
            }
            if matrix[best * rows + place].abs() < SINGULAR {
                return; // Keep the old inverse: it is no worse than a singular one.
            }
            if best != place {
                for k in 0..rows {
                    matrix.swap(best * rows + k, place * rows + k);
                    inverse.swap(best * rows + k, place * rows + k);
                }
            }
            let scale = 1.0 / matrix[place * rows + place];
            for k in 0..rows {
                matrix[place * rows + k] *= scale;
                inverse[place * rows + k] *= scale;
            }
            for row in 0..rows {
                let factor = matrix[row * rows + place];
                if row != place && factor != 0.0 {
                    subtract_row(&mut matrix, rows, row, place, factor);
                    subtract_row(&mut inverse, rows, row, place, factor);
                }
            }
        }
        self.inverse = inverse;
        self.measure();
    }

    fn pivot(&mut self, place: usize, entering: usize, alpha: &[f64], effort: &mut Effort) {
        let rows = self.rows();
        let scale = 1.0 / alpha[place];
        for k in 0..rows {
            self.inverse[place * rows + k] *= scale;
        }
        let step = self.level[place] * scale;
        let mut touched = 0;
        for (row, &slope) in alpha.iter().enumerate() {
            if row != place && slope.abs() > UNTOUCHED {
                touched += 1;
                subtract_row(&mut self.inverse, rows, row, place, slope);
                self.level[row] -= slope * step;
            }
        }
        self.level[place] = step;
        self.basic[self.basis[place]] = false;
        self.basic[entering] = true;
        self.basis[place] = entering;
        self.pivots += 1;
        effort.spend((rows * (touched + 2)) as u64 / 2);
        if self.pivots >= REFRESH {
            self.pivots = 0;
            effort.spend((rows * rows * rows) as u64 / 4);
            self.refresh();
        }
    }

    fn alpha(&self, column: usize) -> Vec<f64> {
        let rows = self.rows();
        let entries = &self.columns[column];
        (0..rows)
            .map(|place| entries.iter().map(|&(row, value)| value * self.inverse[place * rows + row]).sum())
            .collect()
    }

    fn priced(&self, column: usize, duals: &[f64]) -> f64 {
        self.cost[column] - self.columns[column].iter().map(|&(row, value)| value * duals[row]).sum::<f64>()
    }

    /// Primal simplex over the columns there are, from a feasible basis. Gives the duals.
    ///
    /// The entering column is chosen by the Devex rule (Harris, Mathematical Programming 5, 1973): plain largest
    /// reduced cost takes several times the pivots on these problems, where most bases are alike.
    pub(super) fn optimise(&mut self, effort: &mut Effort) -> Vec<f64> {
        let rows = self.rows();
        let mut stalled = 0;
        loop {
            let duals = self.duals();
            let mut reduced: Vec<f64> = (0..self.columns.len()).map(|column| self.priced(column, &duals)).collect();
            let mut weights = vec![1.0; self.columns.len()];
            effort.spend((rows * rows / 4 + self.columns.len() * 4) as u64);
            let mut moved = false;
            // Reduced costs are carried along and drift: a fresh start now and then.
            for _ in 0..REFRESH {
                if effort.over() {
                    return self.duals();
                }
                let pricing = if stalled > 2 * rows + 50 { Pricing::Bland } else { Pricing::Devex };
                let Some(entering) = self.entering(&reduced, &weights, pricing) else { break };
                let alpha = self.alpha(entering);
                let Some((place, ratio)) = self.leaving(&alpha, pricing) else { return self.duals() };
                stalled = if ratio > STALLED { 0 } else { stalled + 1 };
                if stalled > 20 * rows + 500 {
                    return self.duals();
                }
                let line = self.inverse[place * rows..(place + 1) * rows].to_vec();
                let (pivot, share) = (alpha[place], reduced[entering] / alpha[place]);
                let weight = weights[entering];
                for column in 0..self.columns.len() {
                    if !self.basic[column] {
                        let slope: f64 = self.columns[column].iter().map(|&(row, value)| value * line[row]).sum();
                        if slope != 0.0 {
                            reduced[column] -= share * slope;
                            let along = slope / pivot;
                            weights[column] = f64::max(weights[column], along * along * weight);
                        }
                    }
                }
                let out = self.basis[place];
                reduced[out] = -share;
                reduced[entering] = 0.0;
                weights[out] = f64::max(weight / (pivot * pivot), 1.0);
                self.pivot(place, entering, &alpha, effort);
                effort.spend((self.columns.len() * 4) as u64);
                moved = true;
            }
            if !moved {
                return duals;
            }
        }
    }

    fn entering(&self, reduced: &[f64], weights: &[f64], pricing: Pricing) -> Option<usize> {
        let mut paying = (0..reduced.len()).filter(|&column| !self.basic[column] && reduced[column] < -OPTIMAL);
        let gain = |column: usize| reduced[column] * reduced[column] / weights[column];
        match pricing {
            Pricing::Bland => paying.next(),
            Pricing::Devex => paying.max_by(|&a, &b| gain(a).total_cmp(&gain(b)).then(b.cmp(&a))),
        }
    }

    fn leaving(&self, alpha: &[f64], pricing: Pricing) -> Option<(usize, f64)> {
        let mut leaving: Option<(usize, f64)> = None;
        for (place, &slope) in alpha.iter().enumerate() {
            if slope > TINY {
                let ratio = self.level[place].max(0.0) / slope;
                let before = |held: usize| match pricing {
                    Pricing::Bland => self.basis[place] < self.basis[held],
                    Pricing::Devex => slope > alpha[held],
                };
                let better =
                    leaving.is_none_or(|(held, best)| ratio < best - TIE || ratio <= best + TIE && before(held));
                if better {
                    leaving = Some((place, ratio));
                }
            }
        }
        leaving
    }

    /// Dual simplex: makes the basis feasible again after rows or right-hand sides changed.
    pub(super) fn make_feasible(&mut self, effort: &mut Effort) {
        self.measure();
        for _ in 0..20 * self.rows() + 200 {
            if effort.over() {
                return;
            }
            let mut leaving = None;
            let mut least = -FEASIBLE;
            for (place, &level) in self.level.iter().enumerate() {
                if level < least {
                    least = level;
                    leaving = Some(place);
                }
            }
            let Some(place) = leaving else { return };
            let rows = self.rows();
            let duals = self.duals();
            let line = &self.inverse[place * rows..(place + 1) * rows];
            let mut entering: Option<(usize, f64, f64)> = None;
            for column in 0..self.columns.len() {
                if self.basic[column] {
                    continue;
                }
                let slope: f64 = self.columns[column].iter().map(|&(row, value)| value * line[row]).sum();
                if slope < -STEEP {
                    let ratio = self.priced(column, &duals).max(0.0) / -slope;
                    let better = entering
                        .is_none_or(|(_, best, steep)| ratio < best - TIE || ratio <= best + TIE && slope < steep);
                    if better {
                        entering = Some((column, ratio, slope));
                    }
                }
            }
            effort.spend((rows * rows / 4 + self.columns.len() * 8) as u64);
            let Some((entering, _, _)) = entering else { return };
            let alpha = self.alpha(entering);
            if alpha[place].abs() < DRIFTED {
                self.refresh();
                continue;
            }
            self.pivot(place, entering, &alpha, effort);
        }
    }

    /// Whether every basic level is zero or more.
    pub(super) fn feasible(&self) -> bool {
        self.level.iter().all(|&level| level >= -LEVEL)
    }
}

/// `matrix[row] -= factor * matrix[from]`, both rows of one matrix.
fn subtract_row(matrix: &mut [f64], width: usize, row: usize, from: usize, factor: f64) {
    let (target, source) = if row < from {
        let (head, tail) = matrix.split_at_mut(from * width);
        (&mut head[row * width..(row + 1) * width], &tail[..width])
    } else {
        let (head, tail) = matrix.split_at_mut(row * width);
        (&mut tail[..width], &head[from * width..(from + 1) * width])
    };
    for (t, s) in target.iter_mut().zip(source) {
        *t -= factor * s;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_problem_comes_out_right_and_stays_right_when_a_row_is_added() {
        let never = || false;
        let mut effort = Effort::new(u64::MAX, &never);
        // Least x + y with 2x + y >= 4 and x + 3y >= 6: x = 1.2, y = 1.6.
        let mut lp = Lp::covered(vec![4.0, 6.0], 100.0);
        let x = lp.add_column(1.0, vec![(0, 2.0), (1, 1.0)]);
        let y = lp.add_column(1.0, vec![(0, 1.0), (1, 3.0)]);
        lp.add_column(0.0, vec![(0, -1.0)]);
        lp.add_column(0.0, vec![(1, -1.0)]);
        lp.optimise(&mut effort);
        assert!((lp.value() - 2.8).abs() < 1e-9);
        // And x >= 2: then y = 4/3.
        lp.add_row(&[(x, 1.0)], Sense::AtLeast, 2.0);
        lp.make_feasible(&mut effort);
        lp.optimise(&mut effort);
        assert!((lp.value() - (2.0 + 4.0 / 3.0)).abs() < 1e-9);
        assert!(lp.levels().any(|(column, level)| column == y && (level - 4.0 / 3.0).abs() < 1e-9));
    }
}
