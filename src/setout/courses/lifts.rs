//! Lifts: the parts of a building between two floor lines. Cladding is broken at a floor line by a joint, so that the
//! frame can shrink and move there; each lift has courses of its own, from a start of its own.

use serde::{Deserialize, Serialize};

use super::{Building, Courses, CoursesError, Opening, Wall, WallCourses, courses_of_lift};
use crate::setout::outline::Outline;
use crate::units::number::show;

/// The floor lines of a building, and the joint at each.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Floors {
    /// Their heights over the datum, growing: where the cladding below ends, but for the lift-in.
    pub lines_mm: Vec<f64>,
    /// From there to the lowest that the cladding above may begin.
    pub gap_mm: f64,
    /// How much higher it may begin.
    pub range_mm: f64,
}

impl Floors {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.lines_mm.is_empty()
    }
}

/// A lift above a floor line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Lift {
    /// The floor line.
    pub floor_mm: f64,
    /// The line of its lowest course.
    pub line_mm: f64,
}

/// The courses of each lift, one over the other.
pub(super) fn courses_in_lifts(building: &Building) -> Result<Courses, CoursesError> {
    let Floors { lines_mm: floors, gap_mm, range_mm } = &building.floors;
    let is_length = |length: &f64| (0.0..=20_000.0).contains(length);
    if !is_length(gap_mm) || !is_length(range_mm) || floors.iter().any(|floor| !floor.is_finite()) {
        return Err(CoursesError::FloorJoint { gap_mm: *gap_mm, range_mm: *range_mm });
    }
    if let Some(pair) = floors.windows(2).find(|pair| pair[1] - pair[0] <= gap_mm + range_mm) {
        return Err(CoursesError::FloorLines { lower_mm: pair[0], upper_mm: pair[1] });
    }
    let whole = |wall: &Wall| WallCourses { key: wall.key.clone(), courses_mm: Vec::new(), top_rip_mm: None };
    let mut walls: Vec<WallCourses> = building.walls.iter().map(whole).collect();
    let mut all: Option<Courses> = None;
    for place in 0..=floors.len() {
        let from = place.checked_sub(1).and_then(|below| floors.get(below)).copied();
        let lift = lift_of(building, from, floors.get(place).copied());
        if lift.walls.is_empty() {
            continue;
        }
        let mut found = courses_of_lift(&lift)?;
        for courses in std::mem::take(&mut found.walls) {
            if let Some(wall) = walls.iter_mut().find(|wall| wall.key == courses.key) {
                wall.courses_mm.extend(courses.courses_mm);
                // Of the highest lift: what closes the wall at its top.
                wall.top_rip_mm = courses.top_rip_mm;
            }
        }
        found.lifts.extend(from.map(|floor_mm| Lift { floor_mm, line_mm: found.start_mm }));
        match &mut all {
            None => all = Some(found),
            Some(below) => {
                below.lifts.append(&mut found.lifts);
                below.low_notches.append(&mut found.low_notches);
                below.ok &= found.ok;
                below.met = below.met.zip(found.met).map(|(below, here)| below + here);
                if found.smallest_piece_mm < below.smallest_piece_mm {
                    (below.smallest_piece_mm, below.smallest_by) = (found.smallest_piece_mm, found.smallest_by);
                }
            }
        }
    }
    let all = all.ok_or(CoursesError::Walls(building.walls.len()))?;
    if let Some(wall) = building.walls.iter().zip(&walls).find(|(_, courses)| courses.courses_mm.is_empty()) {
        let (key, top_mm) = (wall.0.key.clone(), wall.0.top.highest_mm());
        return Err(CoursesError::BelowStart { wall: key, top_mm, lowest_mm: building.lowest_mm });
    }
    Ok(Courses { walls, ..all })
}

/// What of a building lies between two floor lines, as a building of its own.
fn lift_of(building: &Building, from: Option<f64>, to: Option<f64>) -> Building {
    let Floors { gap_mm, range_mm, .. } = building.floors;
    let mut lift = Building { walls: Vec::new(), floors: Floors::default(), ..building.clone() };
    if let Some(floor) = from {
        // The cladding's own edge stands over the joint.
        (lift.overhang_mm, lift.lowest_mm, lift.highest_mm) = (0.0, floor + gap_mm, floor + gap_mm + range_mm);
    }
    let lowest_line_mm = lift.lowest_mm - lift.overhang_mm;
    for wall in &building.walls {
        let top = to.map_or_else(|| wall.top.clone(), |floor| wall.top.below(floor));
        let is_over = |outline: &Outline| outline.lowest_mm() >= to.unwrap_or(f64::INFINITY);
        if top.highest_mm() - building.lift_in_mm <= lowest_line_mm || wall.base.as_ref().is_some_and(is_over) {
            continue;
        }
        // What lies below the floor line leaves no piece above it.
        let base = match from {
            None => wall.base.clone(),
            Some(floor) => wall
                .base
                .as_ref()
                .filter(|base| base.highest_mm() > floor)
                .map(|base| base.above(floor - building.base_gap_mm)),
        };
        let within = |opening: &&Opening| {
            opening.head_mm.is_none_or(|head| from.is_none_or(|floor| head > floor))
                && opening.sill_mm.is_none_or(|sill| to.is_none_or(|floor| sill < floor))
        };
        let cut = |opening: &Opening| Opening {
            sill_mm: opening.sill_mm.filter(|sill| from.is_none_or(|floor| *sill > floor)),
            head_mm: opening.head_mm.filter(|head| to.is_none_or(|floor| *head < floor)),
            ..*opening
        };
        let openings = wall.openings.iter().filter(within).map(cut).collect();
        lift.walls.push(Wall { key: wall.key.clone(), top, base, openings });
    }
    lift
}

impl Lift {
    /// "Floor line at 2700 mm: courses above it from 2720 mm up."
    pub fn in_words(&self) -> String {
        format!("Floor line at {} mm: courses above it from {} mm up.", show(self.floor_mm), show(self.line_mm))
    }
}
