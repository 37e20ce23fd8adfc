//! Wrap in strips: from the bottom up, each lapping the one below and going past both ends, openings left whole.

use serde::Serialize;

use super::runs::CutRun;
use crate::setout::outline::Outline;

/// More strips than any wall has.
const MOST_STRIPS: usize = 2_000;

/// What of a wall is wrapped.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wrapped {
    /// Its upper outline.
    pub top: Outline,
    /// Its lower one.
    pub base: Outline,
    /// The left and the right end of the frame.
    pub ends_mm: (f64, f64),
    /// The openings, in square metres: the wrap over them is cut out and wasted.
    pub openings_m2: f64,
}

/// The strips of a wall, lowest first, cut square to the widest place that each covers.
pub fn strips(wall: &str, wrapped: &Wrapped, width_mm: f64, lap_mm: f64, past_mm: f64) -> Vec<CutRun> {
    let legs = |outline: &Outline| outline.legs_between(wrapped.ends_mm).collect::<Vec<_>>();
    let (top, base) = (legs(&wrapped.top), legs(&wrapped.base));
    let lowest = base.iter().flatten().map(|point| point[1]).fold(f64::INFINITY, f64::min);
    let highest = top.iter().flatten().map(|point| point[1]).fold(f64::NEG_INFINITY, f64::max);
    let gain = width_mm - lap_mm;
    let mut strips = Vec::new();
    let mut bottom = lowest;
    while bottom < highest && gain > 0.0 && strips.len() < MOST_STRIPS {
        for (from, to) in covered(wrapped, (&top, &base), bottom, bottom + width_mm) {
            let length_mm = (to - from + 2.0 * past_mm - 1e-6).ceil().max(0.0) as u32;
            let place = format!("strip from {} mm up", crate::units::number::show(bottom.round()));
            let wall = wall.to_owned();
            strips.push(CutRun { wall, place, length_mm, pieces_mm: vec![length_mm], stop_ends: 0 });
        }
        // The last strip need only reach the top.
        if bottom + width_mm >= highest {
            break;
        }
        bottom += gain;
    }
    strips
}

type Legs = [[[f64; 2]; 2]];

/// The stretches of a wall that reach into a band of heights.
fn covered(wrapped: &Wrapped, (top, base): (&Legs, &Legs), low_mm: f64, high_mm: f64) -> Vec<(f64, f64)> {
    let crossing = |level: f64| {
        move |[from, to]: &[[f64; 2]; 2]| {
            let (below, above) = (from[1] - level, to[1] - level);
            (below * above < 0.0).then(|| from[0] + (to[0] - from[0]) * below / (below - above))
        }
    };
    let ends = top.iter().chain(base).flatten().map(|point| point[0]);
    let mut places: Vec<f64> =
        ends.chain(top.iter().filter_map(crossing(low_mm))).chain(base.iter().filter_map(crossing(high_mm))).collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let mut stretches: Vec<(f64, f64)> = Vec::new();
    for pair in places.windows(2) {
        let middle = (pair[0] + pair[1]) / 2.0;
        if wrapped.top.height_mm(middle) <= low_mm || wrapped.base.height_mm(middle) >= high_mm {
            continue;
        }
        match stretches.last_mut() {
            Some((_, end)) if *end == pair[0] => *end = pair[1],
            _ => stretches.push((pair[0], pair[1])),
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gable() -> Wrapped {
        Wrapped {
            top: Outline { points: vec![[0.0, 2400.0], [3000.0, 4800.0], [6000.0, 2400.0]] },
            base: Outline::level(0.0),
            ends_mm: (0.0, 6000.0),
            openings_m2: 0.0,
        }
    }

    #[test]
    fn a_gable_takes_shorter_strips_towards_its_peak() {
        // By hand: strips 1350 wide gain 1200. The first three begin at or below the eaves' 2400, and are as long as the
        // wall; at 3600 half of it stands, and that strip ends at 4950.
        let lengths = |past| -> Vec<u32> {
            strips("N", &gable(), 1350.0, 150.0, past).iter().map(|strip| strip.length_mm).collect()
        };
        assert_eq!(lengths(0.0), [6000, 6000, 6000, 3000]);
        assert_eq!(lengths(150.0), [6300, 6300, 6300, 3300]);
    }

    #[test]
    fn two_gables_take_a_strip_each_above_the_valley_and_a_step_none_below_it() {
        let points = vec![[0.0, 1000.0], [1000.0, 3000.0], [2000.0, 1000.0], [3000.0, 3000.0], [4000.0, 1000.0]];
        let base = Outline { points: vec![[0.0, 0.0], [2000.0, 0.0], [2000.0, 1500.0], [4000.0, 1500.0]] };
        let wall = Wrapped { top: Outline { points }, base, ends_mm: (0.0, 4000.0), openings_m2: 0.0 };
        let strips = strips("N", &Wrapped { base: Outline::level(0.0), ..wall.clone() }, 2000.0, 0.0, 0.0);
        let lengths: Vec<u32> = strips.iter().map(|strip| strip.length_mm).collect();
        assert_eq!(lengths, [4000, 1000, 1000]);
        let low = super::strips("N", &wall, 1000.0, 0.0, 0.0);
        assert_eq!(low[0].length_mm, 2000);
    }
}
