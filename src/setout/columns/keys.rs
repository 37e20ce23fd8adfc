//! The first three aims, along the tape: a sliding minimum.

use std::collections::VecDeque;

/// Drawn joints kept, joints in openings, joints, studs to add: compared in that order, added one by one. Packed into
/// one number, as a run has fewer joints than 2²¹; the more are kept the less it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Key(i128);

const BITS: u32 = 21;
const MASK: i128 = (1 << BITS) - 1;

impl Key {
    /// A joint that needs so many studs.
    pub(super) fn joint(studs: usize) -> Self {
        Self((1 << BITS) | studs as i128)
    }

    /// The same joint, in an opening; openings that meet in one place count once.
    pub(super) fn within_opening(self) -> Self {
        Self(self.0 + (1 << (2 * BITS)))
    }

    /// The same joint, where the drawings have it.
    pub(super) fn drawn(self) -> Self {
        Self(self.0 - (1 << (3 * BITS)))
    }

    /// How many joints stand in openings.
    pub(super) fn in_openings(self) -> i128 {
        (self.0 >> (2 * BITS)) & MASK
    }

    /// How many joints.
    pub(super) fn joints(self) -> i128 {
        (self.0 >> BITS) & MASK
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

/// For each whole millimetre, the cheapest joints up to and with one there.
pub(super) struct Cheapest {
    /// The cost of those joints; `None` where no joint can stand.
    pub(super) upto: Vec<Option<Key>>,
    /// The cost of those before it, all but the first joint having some.
    pub(super) before: Vec<Option<Key>>,
}

/// Walks the tape once; a place that costs `None` takes no joint. `first` and `apart` are the least and most whole millimetres of the first joint from the
/// end of the run, and of one joint from the next.
pub(super) fn cheapest(costs: &[Option<Key>], first: (i64, i64), apart: (i64, i64)) -> Cheapest {
    let mut upto: Vec<Option<Key>> = Vec::with_capacity(costs.len());
    let mut before = vec![None; costs.len()];
    // Places in the window, costs growing from front to back: the front is the cheapest.
    let mut window: VecDeque<(i64, Key)> = VecDeque::new();
    for (at, &cost) in (0_i64..).zip(costs) {
        let entering = at - apart.0;
        if let Some(key) = usize::try_from(entering).ok().and_then(|place| upto.get(place).copied().flatten()) {
            while window.back().is_some_and(|(_, back)| *back > key) {
                window.pop_back();
            }
            window.push_back((entering, key));
        }
        while window.front().is_some_and(|(place, _)| *place < at - apart.1) {
            window.pop_front();
        }
        let alone = (first.0..=first.1).contains(&at).then_some(Key::default());
        let from = alone.into_iter().chain(window.front().map(|(_, key)| *key)).min();
        if let Some(place) = before.get_mut(at as usize) {
            *place = from;
        }
        upto.push(from.zip(cost).map(|(from, cost)| from.plus(cost)));
    }
    Cheapest { upto, before }
}
