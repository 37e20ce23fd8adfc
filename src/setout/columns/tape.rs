//! A run checked, in ticks, along a tape of whole millimetres.

use super::bearing::{Faces, Studs};
use super::error::{ColumnsError, MOST_COURSES};
use super::keys::Key;
use super::{Gap, JointStud, Run};
use crate::setout::exact::{TICKS_IN_MM, ceil_mm, floor_mm, mm, ticks};
use crate::setout::marks::{checked_ends, checked_opening, checked_studs, not_too_many};

/// A run in ticks, and what a joint costs at each whole millimetre.
///
/// The tape's place 0 is the last whole millimetre at or before the start of the cladding, which may be left of the
/// framing.
pub(super) struct Tape {
    /// The millimetre that is place 0.
    base_mm: i64,
    /// Where the cladding starts and ends, from place 0.
    start: i64,
    end: i64,
    pub panel: i64,
    pub least: i64,
    pub joint: i64,
    /// For each place: the aims that a joint there costs; `None` where it can't be borne.
    pub costs: Vec<Option<Key>>,
    /// The studs, from place 0.
    studs: Studs,
    /// Whether a drawn joint stands somewhere on it.
    pub has_drawn: bool,
}

impl Tape {
    pub(super) fn new(run: &Run) -> Result<Self, ColumnsError> {
        let length = ticks("length", run.length_mm, 1.0)?;
        let panel = ticks("panel", run.panel_mm, 1.0)?;
        // A column of no length is none.
        let least = ticks("least piece", run.least_mm, 0.0)?.max(1);
        let joint = ticks("joint", run.joint_mm, 0.0)?;
        let clear = ticks("clearance of openings", run.clear_of_opening_mm, 0.0)?;
        if panel < least {
            return Err(ColumnsError::PanelTooShort { panel_mm: run.panel_mm, least_mm: run.least_mm });
        }
        let (left, right) = checked_ends(run.ends, length)?;
        if let Some(courses) = run.courses.filter(|courses| !(1..=MOST_COURSES).contains(courses)) {
            return Err(ColumnsError::Courses(courses));
        }
        let base_mm = floor_mm(left);
        let base = base_mm * TICKS_IN_MM;
        let (start, end) = (left - base, length - right - base);
        let studs = studs(run, length, joint, base)?;
        let cost = |at: i64| studs.to_add(at * TICKS_IN_MM).map(|(count, _)| Key::joint(count));
        let mut costs: Vec<Option<Key>> = (0..=floor_mm(end)).map(cost).collect();
        let mut has_drawn = false;
        for &at_mm in &run.drawn_mm {
            // One that is not on a whole millimetre, or where no joint can be borne, is moved.
            let place = (ticks("drawn joint", at_mm, 0.0)? - base, TICKS_IN_MM);
            let place = (place.0 % place.1 == 0).then(|| usize::try_from(place.0 / place.1).ok()).flatten();
            if let Some(Some(cost)) = place.and_then(|place| costs.get_mut(place)) {
                *cost = cost.drawn();
                has_drawn = true;
            }
        }
        for at in within_openings(&openings(run, length, base)?, clear, costs.len() as i64) {
            if let Some(Some(cost)) = costs.get_mut(at as usize) {
                *cost = cost.within_opening();
            }
        }
        Ok(Self { base_mm, start, end, panel, least, joint, costs, studs, has_drawn })
    }

    /// What is clad.
    pub(super) fn length(&self) -> i64 {
        self.end - self.start
    }

    /// The first column when the first joint is here.
    pub(super) fn first(&self, joint: i64) -> i64 {
        joint * TICKS_IN_MM - self.joint / 2 - self.start
    }

    /// The last column when the last joint is here.
    pub(super) fn last(&self, joint: i64) -> i64 {
        self.end - joint * TICKS_IN_MM - self.joint / 2
    }

    /// Places of the first joint, for a first column within these.
    pub(super) fn first_window(&self, (least, most): (i64, i64)) -> (i64, i64) {
        let before = self.start + self.joint / 2;
        (ceil_mm(before + least), floor_mm(before + most))
    }

    /// Places of the last joint, for a last column within these.
    pub(super) fn last_window(&self, (least, most): (i64, i64)) -> (i64, i64) {
        let before = self.end - self.joint / 2;
        (ceil_mm(before - most), floor_mm(before - least))
    }

    /// Whole millimetres from one joint to the next, for a column within these.
    pub(super) fn apart(&self, (least, most): (i64, i64)) -> (i64, i64) {
        (ceil_mm(least + self.joint).max(1), floor_mm(most + self.joint))
    }

    /// The lengths of the columns between these joints.
    pub(super) fn columns(&self, joints: &[i64]) -> Vec<i64> {
        let (Some(&first), Some(&last)) = (joints.first(), joints.last()) else { return vec![self.length()] };
        let between = joints.windows(2).map(|pair| (pair[1] - pair[0]) * TICKS_IN_MM - self.joint);
        std::iter::once(self.first(first)).chain(between).chain([self.last(last)]).collect()
    }

    /// From a place back to the wall.
    pub(super) fn on_wall(&self, place: i64) -> i64 {
        place + self.base_mm
    }

    /// The columns between these joints as they stand on the wall.
    pub(super) fn gaps(&self, joints: &[i64]) -> Vec<Gap> {
        let base = self.base_mm * TICKS_IN_MM;
        let edge = |joint: &i64, half: i64| joint * TICKS_IN_MM + half;
        let half = self.joint / 2;
        let starts = std::iter::once(self.start).chain(joints.iter().map(|joint| edge(joint, half)));
        let ends = joints.iter().map(|joint| edge(joint, -half)).chain([self.end]);
        starts.zip(ends).map(|(from, to)| Gap { from_mm: mm(from + base), to_mm: mm(to + base) }).collect()
    }

    /// The studs to add for these joints, along the wall.
    pub(super) fn added(&self, joints: &[i64]) -> Vec<JointStud> {
        let base = self.base_mm * TICKS_IN_MM;
        let added = joints.iter().filter_map(|&joint| Some((joint, self.studs.to_add(joint * TICKS_IN_MM)?)));
        let studs = added.flat_map(|(joint, (count, studs))| studs.into_iter().take(count).map(move |at| (at, joint)));
        let mut studs: Vec<(i64, i64)> = studs.collect();
        studs.sort_unstable();
        let stud = |(at, joint)| JointStud { at_mm: mm(at + base), joint_mm: self.on_wall(joint) as f64 };
        studs.into_iter().map(stud).collect()
    }
}

/// The whole millimetres strictly within an opening widened by the clearance, each once.
fn within_openings(openings: &[(i64, i64)], clear: i64, places: i64) -> Vec<i64> {
    let mut within = Vec::new();
    let mut done = 0;
    for &(from, to) in openings {
        // The first whole millimetre after the near end, and the one that is no longer before the far end.
        let (first, end) = (floor_mm(from - clear) + 1, ceil_mm(to + clear));
        within.extend(first.max(done)..end.min(places));
        done = done.max(end);
    }
    within
}

fn studs(run: &Run, length: i64, joint: i64, base: i64) -> Result<Studs, ColumnsError> {
    let studs = checked_studs(&run.studs_mm, length)?;
    let faces = match (run.stud_width_mm, run.bearing_mm) {
        (None, None) => None,
        (None, Some(_)) => return Err(ColumnsError::HalfBearing("stud_width_mm")),
        (Some(_), None) => return Err(ColumnsError::HalfBearing("bearing_mm")),
        (Some(width_mm), Some(bearing_mm)) => {
            let (width, bearing) = (ticks("stud width", width_mm, 1.0)?, ticks("bearing", bearing_mm, 0.0)?);
            if bearing > width {
                return Err(ColumnsError::BearingTooWide { bearing_mm, width_mm });
            }
            Some((width, bearing))
        }
    };
    for pair in studs.windows(2) {
        let [(first, _), (second, number)] = *pair else { continue };
        if let Some((width, _)) = faces.filter(|(width, _)| second - first < *width) {
            let (at_mm, other_mm, width_mm) = (mm(second), mm(first), mm(width));
            return Err(ColumnsError::StudsOverlap { number, at_mm, other_mm, width_mm });
        }
    }
    let studs = studs.into_iter().map(|(at, _)| at - base).collect();
    Ok(match faces {
        None => Studs::Centres(studs),
        Some((width, bearing)) => Studs::Faces(Faces { studs, width, bearing, joint }),
    })
}

/// The openings from place 0, by their near ends; they may stand over one another.
fn openings(run: &Run, length: i64, base: i64) -> Result<Vec<(i64, i64)>, ColumnsError> {
    not_too_many(run.openings.len(), "openings")?;
    let opening = |(number, opening): (usize, &Gap)| {
        let (from, to) = checked_opening(number, opening.from_mm, opening.to_mm, length)?;
        Ok::<_, ColumnsError>((from - base, to - base))
    };
    let mut openings: Vec<(i64, i64)> = (1..).zip(&run.openings).map(opening).collect::<Result<_, _>>()?;
    openings.sort_unstable();
    Ok(openings)
}
