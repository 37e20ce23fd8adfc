//! The best plane: least of a sum of kinked costs over three unknowns, solved exactly.
//!
//! Each reading puts up to three parallel sheets into the space of planes (at the middle, rise along, rise up):
//! crossing one changes a cost's slope by one. The cost is convex and its least value lies on a corner where
//! sheets meet. From a corner we walk along an edge as long as the cost falls, to the next corner, until no
//! edge leads down. That is the simplex method in the unknowns themselves, with long steps.
//!
//! Readings come in whole millimetres on a grid, so that dozens of sheets meet in one corner and the textbook
//! pivot may turn in circles. Here every edge of the corner is looked at (sheet by sheet, its edges in a sweep
//! by angle), so a corner without a falling edge is proved to be the least, by convexity.
//!
//! Aims in order are compared one after the other: being behind a stud that can't be planed off, packing beyond
//! the most, packing, steepness.

use std::cmp::Ordering;

/// How many aims, the first the most important.
const AIMS: usize = 4;
type Cost = [f64; AIMS];
type Point = [f64; 3];

/// Nearer than this (mm) is on the sheet: far above rounding, far below what matters.
const ON_SHEET: f64 = 1e-9;
/// Directions with a smaller sine than this are parallel.
const PARALLEL: f64 = 1e-10;

/// A sheet where costs change slope: each grows by `jump` for every mm of `normal · z − level` above nought.
pub(super) struct Kink {
    normal: Point,
    level: f64,
    jump: Cost,
    /// What the costs already fall by with `normal · z`, on both sides.
    falls: Cost,
}

impl Kink {
    /// The side below is not allowed.
    pub(super) fn wall(normal: Point, level: f64) -> Self {
        Self { normal, level, jump: [1.0, 0.0, 0.0, 0.0], falls: [1.0, 0.0, 0.0, 0.0] }
    }

    /// Every mm above is packing beyond the most allowed.
    pub(super) fn excess(normal: Point, level: f64) -> Self {
        Self { normal, level, jump: [0.0, 1.0, 0.0, 0.0], falls: [0.0; AIMS] }
    }

    /// Every mm above is packing.
    pub(super) fn packing(normal: Point, level: f64) -> Self {
        Self { normal, level, jump: [0.0, 0.0, 1.0, 0.0], falls: [0.0; AIMS] }
    }

    /// Both ways from nought is steeper.
    pub(super) fn gentle(normal: Point) -> Self {
        Self { normal, level: 0.0, jump: [0.0, 0.0, 0.0, 2.0], falls: [0.0, 0.0, 0.0, 1.0] }
    }
}

/// The lowest corner, as (at the middle, rise along, rise up); both rises lie within ±`most`.
///
/// `None` when the walk did not end, which rounding alone could bring about.
pub(super) fn lowest(kinks: &[Kink], most: [f64; 2]) -> Option<Point> {
    let flattest = 1e-11 * (kinks.len() as f64 + 10.0);
    let mut at = corner(kinks, most);
    for _ in 0..(200 + 20 * kinks.len()) {
        let Some(way) = falling_edge(kinks, at, flattest) else { return Some(at) };
        let step = step_along(kinks, at, way, flattest)?;
        at = [0, 1, 2].map(|i| at[i] + step * way[i]);
    }
    None
}

/// A corner to start from: both rises at their bound, and pushed out to the proudest stud.
fn corner(kinks: &[Kink], [most_x, most_y]: [f64; 2]) -> Point {
    let (x, y) = (-most_x, -most_y);
    let out = kinks
        .iter()
        .filter(|kink| kink.normal[0] == 1.0 && kink.jump[0] > 0.0)
        .map(|kink| kink.level - kink.normal[1] * x - kink.normal[2] * y)
        .fold(f64::NEG_INFINITY, f64::max);
    [if out.is_finite() { out } else { 0.0 }, x, y]
}

/// An edge from this corner along which the cost falls, the steepest of the first sheet that has one.
fn falling_edge(kinks: &[Kink], at: Point, flattest: f64) -> Option<Point> {
    // Slopes of the costs but for the sheets that we stand on.
    let mut slopes = [[0.0; 3]; AIMS];
    let mut on = Vec::new();
    for kink in kinks {
        let above = dot(kink.normal, at) - kink.level;
        let here = above.abs() <= ON_SHEET;
        if here {
            on.push(kink);
        }
        for (aim, sums) in slopes.iter_mut().enumerate() {
            let slope = if !here && above > 0.0 { kink.jump[aim] } else { 0.0 } - kink.falls[aim];
            if slope != 0.0 {
                sums.iter_mut().zip(kink.normal).for_each(|(sum, n)| *sum += slope * n);
            }
        }
    }
    let mut done: Vec<Point> = Vec::new();
    for sheet in &on {
        let Some(normal) = unit(sheet.normal) else { continue };
        if done.iter().any(|other| norm(cross(*other, normal)) < PARALLEL) {
            continue;
        }
        done.push(normal);
        if let Some(way) = falling_edge_in(normal, &on, &slopes, flattest) {
            return Some(way);
        }
    }
    None
}

/// A sheet we stand on, cut by the one that is being swept: half the edges of the corner.
struct Edge {
    /// Direction in the swept sheet, in the upper half of the circle.
    way: [f64; 2],
    /// Where it comes in the sweep: a stand-in for its angle that needs no trigonometry.
    turn: f64,
    /// Slopes that it adds on its upper side.
    adds: [[f64; 2]; AIMS],
    /// Whether its upper side is where the sweep begins.
    above_first: bool,
}

/// The steepest falling edge that lies in the sheet with this normal, by a sweep once round.
fn falling_edge_in(normal: Point, on: &[&Kink], slopes: &[Point; AIMS], flattest: f64) -> Option<Point> {
    let (right, up) = axes_of(normal);
    let flat = |v: Point| [dot(v, right), dot(v, up)];
    let mut edges = Vec::with_capacity(on.len());
    for kink in on {
        let [x, y] = flat(kink.normal);
        let size = x.hypot(y);
        if size < PARALLEL {
            continue;
        }
        // At right angles to the normal; turned into the upper half.
        let (mut way, mut above_first) = ([-y / size, x / size], true);
        if way[1] < 0.0 || (way[1] == 0.0 && way[0] < 0.0) {
            (way, above_first) = (way.map(|w| -w), false);
        }
        let turn = 1.0 - way[0] / (way[0].abs() + way[1].abs());
        edges.push(Edge { way, turn, adds: kink.jump.map(|jump| [jump * x, jump * y]), above_first });
    }
    edges.sort_by(|a, b| a.turn.total_cmp(&b.turn));
    let mut sums: [[f64; 2]; AIMS] = slopes.map(flat);
    for edge in edges.iter().filter(|edge| edge.above_first) {
        add(&mut sums, &edge.adds, 1.0);
    }
    let mut best: Option<(Cost, [f64; 2])> = None;
    for (half, sign) in [(0, 1.0), (1, -1.0)] {
        for edge in &edges {
            let way = edge.way.map(|w| sign * w);
            let slope: Cost = sums.map(|sum| sum[0] * way[0] + sum[1] * way[1]);
            let falls = compare(&slope, &[0.0; AIMS], flattest) == Ordering::Less;
            if falls && best.is_none_or(|(least, _)| compare(&slope, &least, flattest) == Ordering::Less) {
                best = Some((slope, way));
            }
            // Past it, we are on its other side.
            let leaving = edge.above_first == (half == 0);
            add(&mut sums, &edge.adds, if leaving { -1.0 } else { 1.0 });
        }
    }
    best.and_then(|(_, way)| unit([0, 1, 2].map(|i| way[0] * right[i] + way[1] * up[i])))
}

/// How far to go along an edge: to the sheet past which the cost no longer falls.
fn step_along(kinks: &[Kink], at: Point, way: Point, flattest: f64) -> Option<f64> {
    let mut slope = [0.0; AIMS];
    let mut ahead = Vec::new();
    for kink in kinks {
        let rate = dot(kink.normal, way);
        let above = dot(kink.normal, at) - kink.level;
        let here = above.abs() <= ON_SHEET;
        let counts = if here { rate > 0.0 } else { above > 0.0 };
        for (aim, sum) in slope.iter_mut().enumerate() {
            *sum += (if counts { kink.jump[aim] } else { 0.0 } - kink.falls[aim]) * rate;
        }
        if !here && rate.abs() > 1e-13 && (above > 0.0) != (rate > 0.0) {
            ahead.push((-above / rate, rate.abs(), kink.jump));
        }
    }
    ahead.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (distance, rate, jump) in ahead {
        slope.iter_mut().zip(jump).for_each(|(sum, jump)| *sum += rate * jump);
        if compare(&slope, &[0.0; AIMS], flattest) != Ordering::Less {
            return Some(distance);
        }
    }
    None
}

/// Costs in the order of the aims; what differs by less than `apart` is the same.
fn compare(a: &Cost, b: &Cost, apart: f64) -> Ordering {
    let differs = a.iter().zip(b).find(|(a, b)| (*a - *b).abs() > apart);
    differs.map_or(Ordering::Equal, |(a, b)| a.total_cmp(b))
}

fn add(sums: &mut [[f64; 2]; AIMS], adds: &[[f64; 2]; AIMS], sign: f64) {
    for (sum, add) in sums.iter_mut().zip(adds) {
        sum[0] += sign * add[0];
        sum[1] += sign * add[1];
    }
}

fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: Point, b: Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn norm(v: Point) -> f64 {
    dot(v, v).sqrt()
}

fn unit(v: Point) -> Option<Point> {
    let size = norm(v);
    (size > 0.0).then(|| v.map(|x| x / size))
}

/// Two unit axes at right angles to a unit normal and to each other.
fn axes_of(normal: Point) -> (Point, Point) {
    let other = if normal[0].abs() < 0.6 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let right = unit(cross(normal, other)).unwrap_or([0.0, 0.0, 1.0]);
    (right, cross(normal, right))
}
