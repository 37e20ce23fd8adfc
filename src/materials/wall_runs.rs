//! The runs of a wall: where its flashings and battens go, from its set-out.
//!
//! Common practice, no source: a base flashing along the foot of the wall, one for each level of a stepped base, stopped at
//! doors and steps; a head flashing over each opening, stopped at both ends; a batten up each stud, also those that the
//! framer adds beside joints, openings and at the ends of the wall.

use super::allowances::Measure;
use super::runs::Run;
use super::wrap::Wrapped;
use crate::setout::framer::Framer;
use crate::setout::outline::Outline;
use crate::setout::panels::SetOut;
use crate::units::number::show_mm;

/// Flashings and battens of a wall, but for those of its corners. Openings are named in the order of the wall's.
pub(super) fn runs_of(set_out: &SetOut, names: &[String], studs_mm: &[f64], framer: &Framer) -> Vec<Run> {
    let mut runs = base_flashings(set_out);
    for (name, opening) in names.iter().zip(&set_out.openings) {
        let middle = (opening.from_mm + opening.to_mm) / 2.0;
        if opening.head_mm.is_some_and(|head| head < set_out.top.height_mm(middle)) {
            runs.push(Run {
                per: Measure::HeadFlashing,
                place: format!("over {name}"),
                length_mm: opening.to_mm - opening.from_mm,
                stop_ends: 2,
            });
        }
    }
    for joint in &set_out.floors {
        let floor = show_mm(joint.floor_mm);
        runs.extend(set_out.along_mm(joint.floor_mm).into_iter().map(|(from, to)| Run {
            per: Measure::FloorFlashing,
            place: format!("floor line at {floor} mm from {} to {} mm", show_mm(from), show_mm(to)),
            length_mm: to - from,
            stop_ends: 0,
        }));
    }
    let moved = |stud: &f64| framer.studs.iter().any(|added| added.instead_of_mm.contains(stud));
    let given = studs_mm.iter().copied().filter(|stud| !moved(stud));
    let mut studs: Vec<f64> = given.chain(framer.studs.iter().map(|stud| stud.at_mm)).collect();
    studs.sort_by(f64::total_cmp);
    studs.dedup();
    runs.extend(studs.iter().flat_map(|stud| battens(set_out, *stud)));
    runs
}

/// The lowest edge of the wall, in its levels, less doors.
fn base_flashings(set_out: &SetOut) -> Vec<Run> {
    let ends = set_out.ends_mm();
    let base = set_out.base.clone().unwrap_or_else(|| Outline::level(set_out.lowest_mm()));
    let legs: Vec<[[f64; 2]; 2]> = base.legs_between(ends).collect();
    let mut runs = Vec::new();
    for (place, &[from, to]) in legs.iter().enumerate() {
        let steps = |other: Option<usize>, end: [f64; 2], side: usize| {
            let beside = other.and_then(|other| legs.get(other)).map(|leg| leg[side]);
            u32::from(beside.is_some_and(|beside| beside[1] != end[1]))
        };
        let (before, after) = (steps(place.checked_sub(1), from, 1), steps(Some(place + 1), to, 0));
        // A leg that goes on as it ran before is cut at no step.
        let doors = set_out.openings.iter().filter(|opening| {
            let foot = set_out.foot_mm((opening.from_mm + opening.to_mm) / 2.0);
            opening.sill_mm.is_none_or(|sill| sill <= foot)
        });
        let mut doors: Vec<(f64, f64)> = doors
            .map(|door| (door.from_mm.max(from[0]), door.to_mm.min(to[0])))
            .filter(|(begin, end)| begin < end)
            .collect();
        doors.sort_by(|a, b| a.0.total_cmp(&b.0));
        let slope = (to[0] - from[0]).hypot(to[1] - from[1]) / (to[0] - from[0]);
        let (mut begin, mut stop) = (from[0], before);
        for (left, right) in doors.into_iter().chain([(to[0], to[0])]) {
            let last = left == to[0];
            if left > begin {
                let end_stop = if last { after } else { 1 };
                runs.push(Run {
                    per: Measure::BaseFlashing,
                    place: format!("base from {} to {} mm", show_mm(begin), show_mm(left)),
                    length_mm: (left - begin) * slope,
                    stop_ends: stop + end_stop,
                });
            }
            (begin, stop) = (begin.max(right), 1);
        }
    }
    runs
}

/// The battens up one stud: from the foot to the top, less the openings that stand over it.
fn battens(set_out: &SetOut, stud_mm: f64) -> Vec<Run> {
    let over = set_out.openings.iter().filter(|opening| opening.stops_stud(stud_mm));
    let (foot, top) = (set_out.foot_mm(stud_mm), set_out.top.height_mm(stud_mm));
    let mut taken: Vec<(f64, f64)> = over
        .map(|opening| (opening.sill_mm.unwrap_or(f64::MIN).max(foot), opening.head_mm.unwrap_or(f64::MAX).min(top)))
        .collect();
    // Battens stop at a floor line and begin again over its joint.
    let joints = set_out.floors.iter().filter(|joint| foot < joint.floor_mm && joint.above_mm < top);
    taken.extend(joints.map(|joint| (joint.floor_mm, joint.above_mm)));
    taken.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut begin = foot;
    let mut runs = Vec::new();
    for (low, high) in taken.into_iter().chain([(top, top)]) {
        if low > begin {
            runs.push(Run {
                per: Measure::Batten,
                place: format!("stud {}, {} to {} mm up", show_mm(stud_mm), show_mm(begin), show_mm(low)),
                length_mm: low - begin,
                stop_ends: 0,
            });
        }
        begin = begin.max(high);
    }
    runs
}

/// What of a wall is wrapped: the frame from its base to its top.
pub(super) fn wrapped(set_out: &SetOut, openings_mm2: f64) -> Wrapped {
    Wrapped {
        top: set_out.top.clone(),
        base: set_out.base.clone().unwrap_or_else(|| Outline::level(set_out.lowest_mm())),
        ends_mm: (0.0, set_out.length_mm),
        openings_m2: openings_mm2 / 1e6,
    }
}
