//! Which studs a joint needs beside those that are there.

use crate::setout::exact::TICKS_IN_MM;

/// Places of added studs are given to half a millimetre.
const HALF_MM: i64 = TICKS_IN_MM / 2;

/// The studs of a run, in ticks.
pub(super) enum Studs {
    /// Studs without a width: a joint is on one or it isn't.
    Centres(Vec<i64>),
    /// Studs with a width: each panel edge needs bearing on one of them.
    Faces(Faces),
}

/// Studs of one width, none overlapping another.
pub(in crate::setout) struct Faces {
    /// Their centres, growing.
    pub studs: Vec<i64>,
    /// The width of each.
    pub width: i64,
    /// What each panel edge needs, from the edge inwards.
    pub bearing: i64,
    /// The width of a joint.
    pub joint: i64,
}

/// The studs that one joint adds: none, one or two.
pub(super) type Added = (usize, [i64; 2]);

const NONE: Added = (0, [0; 2]);

impl Studs {
    /// The studs to add for a joint centred here, the fewest that do; `None` where even two don't.
    pub(super) fn to_add(&self, at: i64) -> Option<Added> {
        match self {
            Self::Centres(studs) if studs.binary_search(&at).is_ok() => Some(NONE),
            Self::Centres(_) => Some((1, [at, 0])),
            Self::Faces(faces) => faces.to_add(at),
        }
    }
}

impl Faces {
    fn to_add(&self, at: i64) -> Option<Added> {
        let (left_edge, right_edge) = (at - self.joint / 2, at + self.joint / 2);
        let half = self.width / 2;
        // Where the centre of a stud may be that bears the edge.
        let left = (left_edge - half, left_edge - self.bearing + half);
        let right = (right_edge + self.bearing - half, right_edge + half);
        let one = |at: Option<i64>| at.map(|at| (1, [at, 0]));
        match (self.given(left).is_some(), self.given(right).is_some()) {
            (true, true) => return Some(NONE),
            (true, false) => {
                if let Some(added) = one(self.free(right, at + half)) {
                    return Some(added);
                }
            }
            (false, true) => {
                if let Some(added) = one(self.free(left, at - half)) {
                    return Some(added);
                }
            }
            (false, false) => {}
        }
        one(self.free((right.0, left.1), at)).or_else(|| self.two(left, right, at))
    }

    /// The stud that is there already, where there is one.
    pub(in crate::setout) fn given(&self, (low, high): (i64, i64)) -> Option<i64> {
        self.studs.get(self.studs.partition_point(|stud| *stud < low)).copied().filter(|stud| *stud <= high)
    }

    /// Whether a stud can stand here beside those that are there; it may touch them.
    pub(in crate::setout) fn stands(&self, at: i64) -> bool {
        let after = self.studs.partition_point(|stud| *stud < at);
        let apart = |stud: Option<&i64>| stud.is_none_or(|stud| (at - stud).abs() >= self.width);
        apart(self.studs.get(after)) && apart(after.checked_sub(1).and_then(|before| self.studs.get(before)))
    }

    /// Places against a stud that is there.
    fn against(&self, (low, high): (i64, i64)) -> impl Iterator<Item = i64> + '_ {
        let near = self.studs.iter().skip(self.studs.partition_point(move |stud| *stud < low - self.width));
        let near = near.take_while(move |stud| **stud <= high + self.width);
        near.flat_map(|stud| [stud - self.width, stud + self.width])
            .filter(move |at| (low..=high).contains(at) && self.stands(*at))
    }

    /// Where a stud can be added between these: against one that is there, or else nearest to what is wished.
    pub(in crate::setout) fn free(&self, range: (i64, i64), wished: i64) -> Option<i64> {
        let (low, high) = range;
        if low > high {
            return None;
        }
        // Where some of the range is free and some not, it is free from a stud that is there: only all or nothing is left.
        let against = self.against(range).min_by_key(|at| (at - wished).abs());
        against.or_else(|| Some(to_half_mm(wished, range)).filter(|at| self.stands(*at)))
    }

    /// Two studs to add, side by side where that serves.
    fn two(&self, left: (i64, i64), right: (i64, i64), at: i64) -> Option<Added> {
        let half = self.width / 2;
        let places = |range: (i64, i64), wished: i64| {
            let ends = [range.0, range.1, to_half_mm(wished, range)];
            let places: Vec<i64> = self.against(range).chain(ends.into_iter().filter(|at| self.stands(*at))).collect();
            places
        };
        if left.0 > left.1 {
            return None;
        }
        let (lefts, rights) = (places(left, at - half), places(right, at + half));
        let pairs = lefts.iter().flat_map(|a| rights.iter().map(move |b| [*a, *b]));
        let apart = pairs.filter(|[a, b]| b - a >= self.width);
        let best = apart.min_by_key(|&[a, b]| (b - a, (a + b - 2 * at).abs(), a))?;
        Some((2, best))
    }
}

/// The half millimetre in the range that is nearest to what is wished; the nearest place where it holds none.
fn to_half_mm(wished: i64, (low, high): (i64, i64)) -> i64 {
    let clamped = wished.clamp(low, high);
    let below = clamped.div_euclid(HALF_MM) * HALF_MM;
    [below, below + HALF_MM]
        .into_iter()
        .filter(|at| (low..=high).contains(at))
        .min_by_key(|at| (at - clamped).abs())
        .unwrap_or(clamped)
}
