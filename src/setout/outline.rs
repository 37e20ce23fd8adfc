//! The upper and the lower outline of a wall: points from left to right, two of one x a step.

use serde::Serialize;

use super::exact::{LengthError, mm, ticks_signed};
use crate::units::number::show;

/// More points than any wall has.
const MOST_POINTS: usize = 1_000;

/// An outline in millimetres: along from the framing's left corner, above the datum.
///
/// One point alone is a level outline, as wide as the wall. Beyond its first and last point an outline goes on as it
/// ran there.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Outline {
    /// The points, from left to right.
    pub points: Vec<[f64; 2]>,
}

impl Outline {
    /// A level outline, as wide as the wall.
    pub fn level(height_mm: f64) -> Self {
        Self { points: vec![[0.0, height_mm]] }
    }

    /// The lowest of its points; 0 where it has none.
    pub fn lowest_mm(&self) -> f64 {
        self.points.iter().map(|[_, height]| *height).reduce(f64::min).unwrap_or_default()
    }

    /// What of it lies below a level: the level itself where it stands higher.
    pub fn below(&self, level_mm: f64) -> Self {
        self.clipped(level_mm, f64::min)
    }

    /// What of it lies above a level: the level itself where it stands lower.
    pub fn above(&self, level_mm: f64) -> Self {
        self.clipped(level_mm, f64::max)
    }

    /// Where it passes a level, and its own points.
    pub fn crossings_mm(&self, level_mm: f64) -> Vec<f64> {
        let passing = |pair: &[[f64; 2]]| {
            let [[a, low], [b, high]] = *pair else { return None };
            let (below, above) = (low - level_mm, high - level_mm);
            (below * above < 0.0 && a < b).then(|| a + (b - a) * below / (below - above))
        };
        self.points.iter().map(|point| point[0]).chain(self.points.windows(2).filter_map(passing)).collect()
    }

    fn clipped(&self, level_mm: f64, clip: fn(f64, f64) -> f64) -> Self {
        let mut points: Vec<[f64; 2]> = Vec::new();
        for (place, &[along, height]) in self.points.iter().enumerate() {
            if let Some(&[before, from]) = place.checked_sub(1).and_then(|place| self.points.get(place)) {
                let (below, above) = (from - level_mm, height - level_mm);
                if below * above < 0.0 && before < along {
                    // To a micrometre, as every length is taken.
                    let at = before + (along - before) * below / (below - above);
                    points.push([(at * 1e3).round() / 1e3, level_mm]);
                }
            }
            points.push([along, clip(height, level_mm)]);
        }
        points.dedup();
        Self { points }
    }

    /// The highest of its points; 0 where it has none.
    pub fn highest_mm(&self) -> f64 {
        self.points.iter().map(|[_, height]| *height).reduce(f64::max).unwrap_or_default()
    }

    /// The height at a place, the lower one at a step; 0 where it has no points.
    pub fn height_mm(&self, along_mm: f64) -> f64 {
        let ends = |pair: &[[f64; 2]]| match pair {
            [one, other] if one[0] < other[0] => Some((*one, *other)),
            _ => None,
        };
        let legs: Vec<_> = self.points.windows(2).filter_map(ends).collect();
        let at = |([a, low], [b, high]): ([f64; 2], [f64; 2])| low + (high - low) * (along_mm - a) / (b - a);
        let here = legs.iter().filter(|(from, to)| (from[0]..=to[0]).contains(&along_mm)).copied().map(at);
        let beyond = || if legs.first()?.0[0] > along_mm { legs.first() } else { legs.last() }.copied().map(at);
        let level = || self.points.first().map(|point| point[1]);
        here.reduce(f64::min).or_else(beyond).or_else(level).unwrap_or_default()
    }

    /// Its legs between two places, the first and the last going on as far as they do; one that is level has one.
    pub fn legs_between(&self, (left_mm, right_mm): (f64, f64)) -> impl Iterator<Item = [[f64; 2]; 2]> + '_ {
        let inner = self.points.iter().map(|[along, _]| *along).filter(|along| *along > left_mm && *along < right_mm);
        let mut places: Vec<f64> = inner.chain([left_mm, right_mm]).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let legs: Vec<_> = places
            .windows(2)
            .map(|pair| {
                let [near, far] = self.heights_within(pair[0], pair[1]);
                [[pair[0], near], [pair[1], far]]
            })
            .collect();
        legs.into_iter()
    }

    /// The heights at both ends of a stretch that holds none of its points: at a step its own end is not that of the next leg.
    fn heights_within(&self, from_mm: f64, to_mm: f64) -> [f64; 2] {
        let width = to_mm - from_mm;
        let [near, far] = [0.25, 0.75].map(|part| self.height_mm(from_mm + part * width));
        let rise = far - near;
        [near - rise / 2.0, far + rise / 2.0]
    }

    /// The area under it and under a level, between the wall's two ends and over the datum, mm².
    pub fn area_below_mm2(&self, level_mm: f64, length_mm: f64) -> f64 {
        let inner = self.points.iter().map(|[along, _]| *along).filter(|along| *along > 0.0 && *along < length_mm);
        let mut places: Vec<f64> = inner.chain([0.0, length_mm]).collect();
        places.sort_by(f64::total_cmp);
        let leg = |pair: &[f64]| {
            let width = pair[1] - pair[0];
            let [from, to] = self.heights_within(pair[0], pair[1]);
            let (low, high) = (from.min(to), from.max(to));
            let above = (high - level_mm).max(0.0);
            let cut = if low >= level_mm {
                (low + high) / 2.0 - level_mm
            } else {
                above * above / (2.0 * (high - low)).max(f64::MIN_POSITIVE)
            };
            width * ((low + high) / 2.0 - cut)
        };
        places.windows(2).map(leg).sum()
    }
}

/// Why an outline can't be taken. Points are counted from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum OutlineError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("the {what} has {given} points: 2 to {MOST_POINTS} are taken")]
    Points { what: &'static str, given: usize },
    #[error("the {what} has no length: all its points stand at {} mm", show(*at_mm))]
    NoLength { what: &'static str, at_mm: f64 },
    #[error("the {what} runs backwards: point {point}, at {} mm, stands left of the point before it", show(*at_mm))]
    Backwards { what: &'static str, point: usize, at_mm: f64 },
    #[error("the {what} crosses itself: points {} to {point} all stand at {} mm, and a step has two", point - 2, show(*at_mm))]
    Crosses { what: &'static str, point: usize, at_mm: f64 },
    #[error("base and top cross: at {} mm the base, {} mm, is above the top, {} mm", show(*at_mm), show(*base_mm), show(*top_mm))]
    BaseAboveTop { at_mm: f64, base_mm: f64, top_mm: f64 },
}

/// A stretch of a wall; an end that is not given is the wall's.
pub(super) type Stretch = (Option<i64>, Option<i64>);

/// An outline in ticks, checked.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    points: Vec<(i64, i64)>,
}

/// A part of an outline between two points, level or sloping.
#[derive(Debug, Clone, Copy)]
struct Leg {
    from: (i64, i64),
    to: (i64, i64),
}

impl Leg {
    /// The height at a place, to the nearest tick.
    fn at(&self, x: i64) -> i64 {
        let (run, rise) = (i128::from(self.to.0 - self.from.0), i128::from(self.to.1 - self.from.1));
        if run == 0 {
            return self.from.1;
        }
        let twice = 2 * rise * i128::from(x - self.from.0) + run;
        // Rounded half up; a height far beyond the ends stays within what the sums can hold.
        let up = twice.div_euclid(2 * run).clamp(-(1 << 50), 1 << 50);
        self.from.1 + up as i64
    }
}

impl Profile {
    /// Reads an outline; `what` names it in messages.
    pub(super) fn read(what: &'static str, outline: &Outline) -> Result<Self, OutlineError> {
        let given = outline.points.len();
        if given == 0 || given > MOST_POINTS {
            return Err(OutlineError::Points { what, given });
        }
        let mut points: Vec<(i64, i64)> = Vec::with_capacity(given);
        for (point, &[at_mm, height_mm]) in (1..).zip(&outline.points) {
            let (x, y) = (ticks_signed(what, at_mm)?, ticks_signed(what, height_mm)?);
            match points.as_slice() {
                [.., last] if last.0 > x => return Err(OutlineError::Backwards { what, point, at_mm }),
                [.., one, last] if one.0 == x && last.0 == x => {
                    return Err(OutlineError::Crosses { what, point, at_mm });
                }
                _ => points.push((x, y)),
            }
        }
        match points.as_slice() {
            [first, .., last] if first.0 == last.0 => Err(OutlineError::NoLength { what, at_mm: mm(first.0) }),
            _ => {
                // A step at either end is where the wall begins or ends.
                if points.len() > 2 && points[0].0 == points[1].0 {
                    points.remove(0);
                }
                if let [.., one, last] = points.as_slice()
                    && one.0 == last.0
                {
                    points.pop();
                }
                Ok(Self { points })
            }
        }
    }

    /// Where it was given to begin and to end; a level one was not.
    pub(super) fn ends(&self) -> Option<(i64, i64)> {
        match self.points.as_slice() {
            [first, .., last] => Some((first.0, last.0)),
            _ => None,
        }
    }

    /// Its points from one place to another at least, its first and last leg going on as far as they do; given and
    /// returned in `steps` to a tick.
    pub(super) fn line(&self, (left, right): (i64, i64), steps: i64) -> Vec<(i64, i64)> {
        let finer = Self { points: self.points.iter().map(|(x, y)| (x * steps, y * steps)).collect() };
        let legs: Vec<Leg> = finer.legs().collect();
        let mut points = finer.points.clone();
        match (legs.first(), legs.last(), points.as_mut_slice()) {
            (Some(begin), Some(end), [first, .., last]) => {
                if left < first.0 {
                    *first = (left, begin.at(left));
                }
                if right > last.0 {
                    *last = (right, end.at(right));
                }
            }
            _ => points = points.iter().flat_map(|point| [(left, point.1), (right, point.1)]).collect(),
        }
        points
    }

    /// Its steps, from the left: where, and the height before and after.
    pub(super) fn steps(&self) -> impl Iterator<Item = (i64, i64, i64)> {
        let pairs = self.points.windows(2).filter(|pair| pair[0].0 == pair[1].0);
        pairs.map(|pair| (pair[0].0, pair[0].1, pair[1].1))
    }

    fn legs(&self) -> impl Iterator<Item = Leg> {
        self.points.windows(2).map(|pair| Leg { from: pair[0], to: pair[1] }).filter(|leg| leg.from.0 < leg.to.0)
    }

    /// The heights at both ends of every leg within a stretch, the first and the last leg going on as far as it does.
    fn heights_over(&self, (from, to): Stretch) -> Vec<i64> {
        let legs: Vec<Leg> = self.legs().collect();
        let Some(last) = legs.len().checked_sub(1) else {
            return self.points.iter().map(|point| point.1).collect();
        };
        let within = |(place, leg): (usize, &Leg)| {
            let begin = if place == 0 { from.unwrap_or(leg.from.0) } else { leg.from.0.max(from.unwrap_or(i64::MIN)) };
            let end = if place == last { to.unwrap_or(leg.to.0) } else { leg.to.0.min(to.unwrap_or(i64::MAX)) };
            let begin = begin.max(from.unwrap_or(begin));
            let end = end.min(to.unwrap_or(end));
            (begin < end).then(|| [leg.at(begin), leg.at(end)])
        };
        legs.iter().enumerate().filter_map(within).flatten().collect()
    }

    /// The lowest height over a stretch, steps at its ends apart.
    pub(super) fn lowest(&self, stretch: Stretch) -> i64 {
        self.heights_over(stretch).into_iter().min().unwrap_or_default()
    }

    /// The highest height over a stretch, steps at its ends apart.
    pub(super) fn highest(&self, stretch: Stretch) -> i64 {
        self.heights_over(stretch).into_iter().max().unwrap_or_default()
    }

    /// Every level stretch with its height, from the left.
    pub(super) fn flats(&self) -> Vec<(Stretch, i64)> {
        if let [point] = self.points.as_slice() {
            return vec![((None, None), point.1)];
        }
        let mut flats: Vec<(Stretch, i64)> = Vec::new();
        for leg in self.legs().filter(|leg| leg.from.1 == leg.to.1) {
            let (from, to) = (Some(leg.from.0), Some(leg.to.0));
            match flats.last_mut() {
                Some(((_, end), height)) if *end == from && *height == leg.from.1 => *end = to,
                _ => flats.push(((from, to), leg.from.1)),
            }
        }
        flats
    }

    /// Every peak, and every high end of a slope with nothing as high beside it.
    pub(super) fn peaks(&self) -> Vec<i64> {
        let legs: Vec<Leg> = self.legs().collect();
        let mut peaks = Vec::new();
        for (place, leg) in legs.iter().enumerate() {
            let (left, right) = (place.checked_sub(1).and_then(|left| legs.get(left)), legs.get(place + 1));
            if leg.from.1 < leg.to.1 && right.is_none_or(|right| right.from.1 < leg.to.1) {
                peaks.push(leg.to.1);
            }
            // A peak between two slopes is found at its left slope.
            let meets_right = right.is_some_and(|right| right.from.1 == leg.to.1 && right.to.1 < right.from.1);
            if leg.from.1 < leg.to.1 && meets_right {
                peaks.push(leg.to.1);
            }
            if leg.from.1 > leg.to.1 && left.is_none_or(|left| left.to.1 < leg.from.1) {
                peaks.push(leg.from.1);
            }
        }
        peaks
    }

    /// Checks that this base stands nowhere above `top`.
    pub(super) fn check_below(&self, top: &Self) -> Result<(), OutlineError> {
        let mut places: Vec<i64> = self.points.iter().chain(&top.points).map(|point| point.0).collect();
        places.sort_unstable();
        places.dedup();
        // Between two places both run straight: they cross between them only where they do at one of the two.
        let stretches = places.windows(2).map(|pair| (pair[0], pair[1]));
        let one = places.first().map(|&place| (place, place + 1)).filter(|_| places.len() == 1);
        for (from, to) in stretches.chain(one) {
            let ends = |profile: &Self| {
                let heights = profile.heights_over((Some(from), Some(to)));
                [heights.first().copied().unwrap_or_default(), heights.last().copied().unwrap_or_default()]
            };
            for ((base, top), at) in ends(self).into_iter().zip(ends(top)).zip([from, to]) {
                if base > top {
                    return Err(OutlineError::BaseAboveTop { at_mm: mm(at), base_mm: mm(base), top_mm: mm(top) });
                }
            }
        }
        Ok(())
    }
}
