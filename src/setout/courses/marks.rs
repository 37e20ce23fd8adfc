//! The marks of the storey rod.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Building, Courses};
use crate::setout::exact::{TICKS_IN_MM, mm};
use crate::setout::outline::{Outline, Profile};

/// What a mark on the storey rod is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkKind {
    /// The starter line.
    Start,
    /// The bottom of a course, the lowest is course 1.
    Course(usize),
    /// A floor line, where cladding is broken.
    Floor,
    /// A level stretch of a base.
    Base,
    /// A sill.
    Sill,
    /// A head.
    Head,
    /// A level stretch of a top.
    Top,
    /// A peak of a top, or the high end of a slope.
    Peak,
}

impl std::fmt::Display for MarkKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Start => f.write_str("start"),
            Self::Course(number) => write!(f, "course {number}"),
            Self::Floor => f.write_str("floor line"),
            Self::Base => f.write_str("base"),
            Self::Sill => f.write_str("sill"),
            Self::Head => f.write_str("head"),
            Self::Top => f.write_str("top"),
            Self::Peak => f.write_str("peak"),
        }
    }
}

/// One mark on the storey rod.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mark {
    /// Above the datum, in millimetres.
    pub height_mm: f64,
    /// What it is.
    pub what: MarkKind,
    /// The walls it is carried to; all of them for courses is an empty list.
    pub walls: Vec<String>,
}

/// Every mark of the storey rod, from the bottom up: what each is, and on which walls.
pub fn marks(building: &Building, courses: &Courses) -> Vec<Mark> {
    // By height in ticks: a float is no key.
    let mut marked: BTreeMap<(i64, MarkKind), Vec<String>> = BTreeMap::new();
    let mut mark = |height_mm: f64, what: MarkKind, wall: &str| {
        let walls = marked.entry(((height_mm * TICKS_IN_MM as f64).round() as i64, what)).or_default();
        if walls.last().is_none_or(|last| last != wall) {
            walls.push(wall.to_owned());
        }
    };
    for (wall, set_out) in building.walls.iter().zip(&courses.walls) {
        mark(courses.start_mm, MarkKind::Start, &wall.key);
        for (number, &height) in (1..).zip(&set_out.courses_mm) {
            mark(height, MarkKind::Course(number), &wall.key);
        }
        let profile = |what, outline: &Outline| Profile::read(what, outline).ok();
        let (top, base) = (profile("top", &wall.top), wall.base.as_ref().and_then(|base| profile("base", base)));
        let edges = wall
            .openings
            .iter()
            .flat_map(|opening| [(opening.sill_mm, MarkKind::Sill), (opening.head_mm, MarkKind::Head)]);
        let edges = edges.filter_map(|(height, what)| Some((height?, what)));
        let lowest = set_out.courses_mm.first().copied().unwrap_or(courses.start_mm);
        for (height, what) in edges.filter(|(height, _)| *height > lowest && *height < wall.top.highest_mm()) {
            mark(height, what, &wall.key);
        }
        let floors = courses.lifts.iter().map(|lift| lift.floor_mm);
        for floor in floors.filter(|floor| (lowest..wall.top.highest_mm()).contains(floor)) {
            mark(floor, MarkKind::Floor, &wall.key);
        }
        for (_, height) in base.iter().flat_map(Profile::flats) {
            mark(mm(height), MarkKind::Base, &wall.key);
        }
        for (_, height) in top.iter().flat_map(Profile::flats) {
            mark(mm(height), MarkKind::Top, &wall.key);
        }
        for height in top.iter().flat_map(Profile::peaks) {
            mark(mm(height), MarkKind::Peak, &wall.key);
        }
    }
    let everywhere = building.walls.len();
    let mark = |((height, what), walls): (_, Vec<String>)| Mark {
        height_mm: mm(height),
        what,
        walls: if walls.len() == everywhere { Vec::new() } else { walls },
    };
    marked.into_iter().map(mark).collect()
}
