//! Lapped boards: the gain may differ from course to course, so that lines meet sills, heads and flat tops.

use std::collections::BTreeSet;

use super::edges::{Cut, Edges, Rod, smallest};
use super::{CoursesError, Edge};
use crate::setout::exact::{TICKS_IN_MM, ceil_mm, floor_mm, ticks};

/// Millimetres of rod times gains: what the search holds in memory.
const MOST_STEPS: i64 = 2_000_000;

/// What a rod from some start to a line comes to. Compared in this order: the more the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Worth {
    /// Sills, heads and flat tops that a line meets.
    met: i64,
    /// How far the gains are from the cover: minus the sum of squares, in square ticks.
    near: i64,
    /// Minus the place of the lowest line: of rods alike the lowest.
    low: i64,
}

/// The best rod that ends with a line and a gain, and the gain before it; 0 where the line is its second.
type Reached = Option<(Worth, usize)>;

/// The rod as whole millimetres above its lowest possible line, and what lies between them.
struct Grid<'e> {
    edges: &'e Edges,
    /// The height of place 0, in ticks.
    foot: i64,
    /// Places where a rod may begin.
    starts: usize,
    /// Where the highest wall ends, rounded up.
    last: usize,
    /// The least gain, and how many gains there are.
    least: usize,
    gains: usize,
    /// Sills, heads and flat tops at each place.
    meets: Vec<i64>,
    /// The smallest piece between a place and the place a gain above it, by place and gain.
    pieces: Vec<i64>,
    /// The same for a rod's first course: an edge on its line leaves no piece.
    first_pieces: Vec<i64>,
}

/// The lines that meet the most sills, heads and flat tops; of those, with the largest smallest piece; of those, whose
/// gains are closest to the cover (least sum of squares); of those, the lowest. The last line is where the top course
/// would end. `starts` are whole millimetres.
pub(super) fn lines(edges: &Edges, starts: (i64, i64), least_mm: f64, most_mm: f64) -> Result<Vec<i64>, CoursesError> {
    let grid = Grid::of(edges, starts, least_mm, most_mm)?;
    let mut reached = Vec::new();
    let (most, mut found) = grid.best(i64::MIN, &mut reached);
    // The largest smallest piece that still lets as many be met, by halving the list of all above the one just found.
    let sizes: Vec<i64> = grid.pieces.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
    let rod = Rod::Lines(found.iter().map(|place| grid.height(*place)).collect());
    let smallest = smallest(&edges.cuts, &rod, None).map_or(i64::MIN, |(piece, _)| piece);
    let (mut low, mut high) = (sizes.partition_point(|size| *size <= smallest), sizes.len());
    // Of rods with this smallest piece the first pass found the nearest to the cover.
    while low < high {
        let middle = usize::midpoint(low, high);
        let (worth, rod) = grid.best(sizes.get(middle).copied().unwrap_or(i64::MAX), &mut reached);
        match worth.zip(most).is_some_and(|(worth, most)| worth.met == most.met) {
            true => (low, found) = (middle + 1, rod),
            false => high = middle,
        }
    }
    Ok(found.into_iter().map(|place| grid.height(place)).collect())
}

impl<'e> Grid<'e> {
    fn of(edges: &'e Edges, (first, last): (i64, i64), least_mm: f64, most_mm: f64) -> Result<Self, CoursesError> {
        let least = ceil_mm(ticks("least cover", least_mm, 1.0)?);
        let most = floor_mm(ticks("most cover", most_mm, 1.0)?);
        if least > most {
            return Err(CoursesError::Gains { least_mm, most_mm });
        }
        let foot = first * TICKS_IN_MM - edges.overhang;
        let end = edges.walls.iter().map(|wall| wall.end).max().unwrap_or(foot);
        let height = ceil_mm(end - foot).max(0);
        // Every wall has a course.
        let lowest_end = edges.walls.iter().map(|wall| wall.end).min().unwrap_or(foot);
        let starts = (last - first + 1).min(ceil_mm(lowest_end - foot));
        let gains = most - least + 1;
        if height.saturating_mul(gains) > MOST_STEPS {
            return Err(CoursesError::TooManyGains { least_mm, most_mm });
        }
        // All are counts within the bound on steps.
        let size = |count: i64| count.max(0) as usize;
        let mut grid = Self {
            edges,
            foot,
            starts: size(starts),
            last: size(height),
            least: size(least),
            gains: size(gains),
            meets: vec![0; size(height) + 1],
            pieces: Vec::new(),
            first_pieces: Vec::new(),
        };
        for cut in edges.cuts.iter().filter(|cut| !matches!(cut.edge, Edge::Peak | Edge::Base)) {
            let above = cut.at - foot;
            if let Some(meets) = grid.meets.get_mut(size(above / TICKS_IN_MM))
                && above > 0
                && above % TICKS_IN_MM == 0
            {
                *meets += 1;
            }
        }
        grid.pieces = grid.pieces();
        let firsts = (0..grid.starts).flat_map(|place| (0..grid.gains).map(move |step| (place, step)));
        grid.first_pieces = firsts.map(|(place, step)| grid.first_piece(place, step + grid.least)).collect();
        Ok(grid)
    }

    fn height(&self, place: usize) -> i64 {
        self.foot + place as i64 * TICKS_IN_MM
    }

    /// The smallest piece between every place and each place a gain above it, edges on either counted as lined up.
    fn pieces(&self) -> Vec<i64> {
        let mut under: Vec<Cut> = self.edges.cuts.iter().filter(|cut| !cut.is_over()).copied().collect();
        let mut over: Vec<Cut> = self.edges.cuts.iter().filter(|cut| cut.is_over()).copied().collect();
        under.sort_by_key(|cut| cut.at);
        over.sort_by_key(|cut| cut.at);
        let mut pieces = Vec::with_capacity(self.last * self.gains);
        for place in 0..self.last {
            let line = self.height(place);
            let lowest_under = under.get(under.partition_point(|cut| cut.at <= line)).map(|cut| cut.at);
            let overs = over.get(over.partition_point(|cut| cut.at < line)..).unwrap_or_default();
            for gain in self.least..self.least + self.gains {
                let next = line + gain as i64 * TICKS_IN_MM;
                let below = lowest_under.filter(|at| *at <= next).map_or(i64::MAX, |at| at - line);
                let above = overs.iter().take_while(|cut| cut.at < next).map(|cut| next.min(cut.stop) - cut.at).min();
                pieces.push(below.min(above.unwrap_or(i64::MAX)));
            }
        }
        pieces
    }

    /// The smallest piece of a course that is the rod's first: an edge on its line leaves none.
    fn first_piece(&self, place: usize, gain: usize) -> i64 {
        let rod = Rod::Lines(vec![self.height(place), self.height(place + gain)]);
        let within =
            |cut: &&Cut| cut.at < self.height(place + gain) || (!cut.is_over() && cut.at == self.height(place + gain));
        self.edges.cuts.iter().filter(within).filter_map(|cut| cut.piece(&rod)).min().unwrap_or(i64::MAX)
    }

    /// The best rod none of whose pieces is smaller than `least_piece`, as places from the lowest line up; `reached` is
    /// room to work in.
    fn best(&self, least_piece: i64, reached: &mut Vec<Reached>) -> (Option<Worth>, Vec<usize>) {
        let highest = self.last + self.least + self.gains;
        reached.clear();
        reached.resize(highest * self.gains, None);
        let mut end: Option<(Worth, usize, usize)> = None;
        for place in 0..self.last {
            let row = place * self.gains;
            let before: Vec<Reached> = reached.get(row..row + self.gains).map(<[_]>::to_vec).unwrap_or_default();
            let best_of = |gains: std::ops::Range<usize>| {
                let all = before.get(gains.start..gains.end.min(before.len())).unwrap_or_default().iter().enumerate();
                let known = all.filter_map(|(gain, found)| Some((found.as_ref()?.0, gains.start + gain + self.least)));
                // Of rods alike the first found stays, whatever the order of the search.
                known.reduce(|best, other| if other.0 > best.0 { other } else { best })
            };
            let any = if self.meets.get(place).is_some_and(|meets| *meets > 0) { best_of(0..self.gains) } else { None };
            for step in 0..self.gains {
                let gain = step + self.least;
                let from = if any.is_some() { any } else { best_of(step.saturating_sub(1)..step + 2) };
                let go_on = from.filter(|_| self.pieces.get(row + step).is_some_and(|piece| *piece >= least_piece));
                let begin = (place < self.starts
                    && self.first_pieces.get(row + step).is_some_and(|piece| *piece >= least_piece))
                .then(|| (Worth { met: 0, near: 0, low: -(place as i64) }, 0));
                let Some((worth, gain_before)) = go_on.into_iter().chain(begin).max_by_key(|(worth, _)| *worth) else {
                    continue;
                };
                let next = place + gain;
                let worth = self.one_more(worth, next, gain);
                if let Some(held) = reached.get_mut(next * self.gains + step)
                    && held.is_none_or(|(held, _)| worth > held)
                {
                    *held = Some((worth, gain_before));
                }
                if next >= self.last && end.is_none_or(|(held, ..)| worth > held) {
                    end = Some((worth, next, gain));
                }
            }
        }
        let Some((worth, mut place, mut gain)) = end else { return (None, Vec::new()) };
        let mut places = vec![place];
        while gain > 0 {
            let found = reached.get(place * self.gains + gain - self.least).copied().flatten();
            place -= gain;
            places.push(place);
            gain = found.map_or(0, |(_, before)| before);
        }
        places.reverse();
        (Some(worth), places)
    }

    /// A rod with one more line; a line above every wall's end is none.
    fn one_more(&self, worth: Worth, place: usize, gain: usize) -> Worth {
        let end = self.edges.walls.iter().map(|wall| wall.end).max().unwrap_or(i64::MAX);
        if self.height(place) > end {
            return worth;
        }
        let off = gain as i64 * TICKS_IN_MM - self.edges.cover;
        Worth { met: worth.met + self.meets.get(place).copied().unwrap_or(0), near: worth.near - off * off, ..worth }
    }
}
