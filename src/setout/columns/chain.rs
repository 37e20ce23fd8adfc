//! The last aims, over the joints that tie on the first three: fewest columns shorter than a panel, then least sum of
//! squares.

use super::envelope::{Line, best_before};
use super::keys::{Key, cheapest};
use super::tape::Tape;
use crate::setout::exact::TICKS_IN_MM;

/// The least and the most length of one column, in ticks.
pub(super) type Bounds = (i64, i64);

/// Every run of joints that is best in the first three aims, joint by joint.
pub(super) struct Chain<'t> {
    tape: &'t Tape,
    layers: Vec<Layer>,
    /// Whether columns shorter than a panel count before the squares.
    pub count_shorter: bool,
}

/// The places that the nth joint can take.
struct Layer {
    /// Places, growing.
    places: Vec<i64>,
    /// Which of them can follow which of the layer before, by index: all of a group those that cost the same so far.
    groups: Vec<Group>,
}

struct Group {
    before: Vec<usize>,
    places: Vec<usize>,
}

/// A set-out and what it comes to.
#[derive(Debug, Clone)]
pub(super) struct Joints {
    /// Their places.
    pub places: Vec<i64>,
    /// Columns that are shorter than a panel, where they count.
    pub shorter: u32,
    /// The sum of the squares of the columns, in square ticks.
    pub squares: i64,
}

/// The best way to a joint.
#[derive(Clone, Copy)]
struct Reached {
    shorter: u32,
    squares: i64,
    before: usize,
}

impl<'t> Chain<'t> {
    /// `None` where no columns fit the run.
    pub(super) fn new(tape: &'t Tape) -> Option<Self> {
        let any = (tape.least, tape.panel);
        let whole = (tape.length() <= tape.panel).then(|| Self { tape, layers: Vec::new(), count_shorter: false });
        if whole.is_some() && !tape.has_drawn {
            return whole;
        }
        let (first, last, apart) = (tape.first_window(any), tape.last_window(any), tape.apart(any));
        let there = cheapest(&tape.costs, first, apart);
        let places = tape.costs.len() as i64;
        let ends = last.0.max(0)..=last.1.min(places - 1);
        // A run as short as a panel is divided for a drawn joint only.
        let least = ends
            .filter_map(|at| there.upto[at as usize])
            .min()
            .filter(|least| whole.is_none() || *least < Key::default());
        let Some(least) = least else { return whole };
        // From the other end, to see which places lie on a best run.
        let reversed: Vec<Option<Key>> = tape.costs.iter().rev().copied().collect();
        let back = cheapest(&reversed, (places - 1 - last.1, places - 1 - last.0), apart);
        let mut on_best: Vec<Vec<(Key, i64)>> = vec![Vec::new(); least.joints() as usize];
        for at in 0..places {
            let rest = back.before[(places - 1 - at) as usize];
            let Some(((upto, before), rest)) = there.upto[at as usize].zip(there.before[at as usize]).zip(rest) else {
                continue;
            };
            if upto.plus(rest) == least
                && let Some(layer) = on_best.get_mut(before.joints() as usize)
            {
                layer.push((before, at));
            }
        }
        let mut layers: Vec<Layer> = Vec::with_capacity(on_best.len());
        for layer in on_best {
            let earlier = layers.last().map_or(&[][..], |earlier| earlier.places.as_slice());
            let mut costs: Vec<Key> = layer.iter().map(|(before, _)| *before).collect();
            costs.sort_unstable();
            costs.dedup();
            let group = |cost: Key| Group {
                before: (0..earlier.len()).filter(|&i| there.upto[earlier[i] as usize] == Some(cost)).collect(),
                places: (0..layer.len()).filter(|&i| layer[i].0 == cost).collect(),
            };
            let groups = costs.into_iter().map(group).collect();
            layers.push(Layer { places: layer.iter().map(|(_, at)| *at).collect(), groups });
        }
        Some(Self { tape, layers, count_shorter: false })
    }

    /// How many columns.
    pub(super) fn columns(&self) -> usize {
        self.layers.len() + 1
    }

    /// Places that one search looks at.
    pub(super) fn size(&self) -> u64 {
        self.layers.iter().map(|layer| layer.places.len() as u64).sum::<u64>() + 1
    }

    /// The best joints with each column within its bounds; `None` where there are none.
    pub(super) fn best(&self, bounds: &[Bounds]) -> Option<Joints> {
        let tape = self.tape;
        let shorter = |column: i64| u32::from(self.count_shorter && column != tape.panel);
        let (Some(last), Some(&bound)) = (self.layers.last(), bounds.last()) else {
            let length = tape.length();
            return Some(Joints { places: Vec::new(), shorter: shorter(length), squares: length.pow(2) });
        };
        let mut reached: Vec<Vec<Option<Reached>>> = Vec::with_capacity(self.layers.len());
        for (layer, &bound) in self.layers.iter().zip(bounds) {
            let row = match reached.last() {
                None => {
                    let window = tape.first_window(bound);
                    let first = |&at: &i64| {
                        let column = tape.first(at);
                        let found = Reached { shorter: shorter(column), squares: column.pow(2), before: 0 };
                        (window.0..=window.1).contains(&at).then_some(found)
                    };
                    layer.places.iter().map(first).collect()
                }
                Some(earlier) => self.next(&self.layers[reached.len() - 1].places, earlier, layer, bound),
            };
            reached.push(row);
        }
        let window = tape.last_window(bound);
        let end = |(i, found): (usize, &Option<Reached>)| {
            let (at, found) = (last.places[i], (*found)?);
            let column = tape.last(at);
            let sums = (found.shorter + shorter(column), found.squares + column.pow(2), i);
            (window.0..=window.1).contains(&at).then_some(sums)
        };
        let (shorter, squares, mut place) = reached.last()?.iter().enumerate().filter_map(end).min()?;
        let mut places = Vec::with_capacity(self.layers.len());
        for (layer, row) in self.layers.iter().zip(&reached).rev() {
            places.push(layer.places[place]);
            place = row[place]?.before;
        }
        places.reverse();
        Some(Joints { places, shorter, squares })
    }

    /// The best way to each place of a layer.
    fn next(&self, earlier: &[i64], reached: &[Option<Reached>], layer: &Layer, bound: Bounds) -> Vec<Option<Reached>> {
        let (joint, panel) = (self.tape.joint, self.tape.panel);
        let apart = self.tape.apart(bound);
        let mut row: Vec<Option<Reached>> = vec![None; layer.places.len()];
        for group in &layer.groups {
            let there = group.before.iter().filter_map(|&i| Some((i, reached[i]?)));
            let there: Vec<(usize, Reached)> = there.collect();
            let mut counts: Vec<u32> = there.iter().map(|(_, found)| found.shorter).collect();
            counts.sort_unstable();
            counts.dedup();
            let mut open = group.places.clone();
            for count in counts {
                let alike: Vec<(usize, Reached)> =
                    there.iter().filter(|(_, found)| found.shorter == count).copied().collect();
                let lines: Vec<Line> =
                    alike.iter().map(|&(i, found)| Line { at: earlier[i], squares: found.squares }).collect();
                let asked: Vec<i64> = open.iter().map(|&i| layer.places[i]).collect();
                for (&i, best) in open.iter().zip(best_before(&lines, &asked, joint, apart)) {
                    let Some((at, squares)) = best else { continue };
                    let before = alike[lines.partition_point(|line| line.at < at)].0;
                    row[i] = Some(Reached { shorter: count + u32::from(self.count_shorter), squares, before });
                }
                open.retain(|&i| row[i].is_none());
            }
            // A whole panel is no shorter one: it may beat what has the better squares.
            let step = panel + joint;
            if self.count_shorter && step % TICKS_IN_MM == 0 && (bound.0..=bound.1).contains(&panel) {
                for &i in &group.places {
                    let before = layer.places[i] - step / TICKS_IN_MM;
                    let found = there.binary_search_by_key(&before, |(i, _)| earlier[*i]);
                    let Some(&(before, found)) = found.ok().and_then(|place| there.get(place)) else { continue };
                    let whole = Reached { squares: found.squares + panel.pow(2), before, ..found };
                    if row[i].is_none_or(|held| (whole.shorter, whole.squares) < (held.shorter, held.squares)) {
                        row[i] = Some(whole);
                    }
                }
            }
        }
        row
    }
}
