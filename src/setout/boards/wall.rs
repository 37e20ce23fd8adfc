//! A wall of lapped boards, checked, in ticks.

use serde::Serialize;

use super::error::{BoardsError, MOST_COURSES};
use crate::building::Ends;
use crate::setout::exact::{ticks, ticks_signed};
use crate::setout::marks::{checked_ends, checked_opening, checked_studs, not_too_many};
use crate::setout::opening::WallOpening;

/// A wall of lapped boards, in millimetres: along from the framing's left end, up from the datum.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct BoardWall {
    /// The length of the framing.
    pub length_mm: f64,
    /// The longest board.
    pub board_mm: f64,
    /// The shortest board that may end at a joint.
    pub least_mm: f64,
    /// The gap between two board ends; half of it comes off the board on either side.
    pub end_gap_mm: f64,
    /// How far joints of courses next to one another keep apart.
    pub stagger_mm: f64,
    /// The centres of the studs, where board ends can meet.
    pub studs_mm: Vec<f64>,
    /// What is taken at either end.
    pub ends: Ends,
    /// Bottom and top of each course's face, from the lowest.
    pub courses: Vec<[f64; 2]>,
    /// Windows and doors; they may stand over one another.
    pub openings: Vec<WallOpening>,
    /// The gap between boards and an opening, all round.
    pub gap_mm: f64,
    /// How far a board end keeps from an opening that notches its course, gap and all.
    pub clear_of_opening_mm: f64,
}

/// The wall in ticks.
pub(super) struct Checked {
    pub studs: Vec<i64>,
    pub stagger: i64,
    pub board: i64,
    pub least: i64,
    pub end_gap: i64,
    pub start: i64,
    pub end: i64,
    pub clear: i64,
    /// Bottom and top of each face.
    pub courses: Vec<(i64, i64)>,
    pub openings: Vec<Opening>,
}

/// An opening with its gap.
pub(super) struct Opening {
    pub from: i64,
    pub to: i64,
    pub sill: i64,
    pub head: i64,
}

impl Checked {
    pub(super) fn new(wall: &BoardWall) -> Result<Self, BoardsError> {
        let length = ticks("length", wall.length_mm, 1.0)?;
        let board = ticks("board", wall.board_mm, 1.0)?;
        let least = ticks("least piece", wall.least_mm, 0.0)?;
        let gap = ticks("gap", wall.gap_mm, 0.0)?;
        if board < least {
            return Err(BoardsError::BoardTooShort { board_mm: wall.board_mm, least_mm: wall.least_mm });
        }
        let (left, right) = checked_ends(wall.ends, length)?;
        not_too_many(wall.openings.len(), "openings")?;
        let opening = |(number, opening): (usize, &WallOpening)| {
            let (from, to) = checked_opening(number, opening.from_mm, opening.to_mm, length)?;
            let height = |what, mm: Option<f64>| mm.map(|mm| ticks_signed(what, mm)).transpose();
            let (sill, head) = (height("sill", opening.sill_mm)?, height("head", opening.head_mm)?);
            if let (Some(sill_mm), Some(head_mm)) = (opening.sill_mm, opening.head_mm)
                && sill_mm >= head_mm
            {
                return Err(BoardsError::SillOverHead { number, sill_mm, head_mm });
            }
            let sill = sill.map_or(i64::MIN, |sill| sill - gap);
            let head = head.map_or(i64::MAX, |head| head + gap);
            Ok(Opening { from: from - gap, to: to + gap, sill, head })
        };
        Ok(Self {
            studs: checked_studs(&wall.studs_mm, length)?.into_iter().map(|(at, _)| at).collect(),
            stagger: ticks("stagger", wall.stagger_mm, 0.0)?,
            board,
            least,
            end_gap: ticks("end gap", wall.end_gap_mm, 0.0)?,
            start: left,
            end: length - right,
            clear: ticks("clearance of openings", wall.clear_of_opening_mm, 0.0)?,
            courses: courses(wall)?,
            openings: (1..).zip(&wall.openings).map(opening).collect::<Result<_, _>>()?,
        })
    }
}

fn courses(wall: &BoardWall) -> Result<Vec<(i64, i64)>, BoardsError> {
    if wall.courses.is_empty() {
        return Err(BoardsError::NoCourses);
    }
    if wall.courses.len() > MOST_COURSES {
        return Err(BoardsError::ManyCourses(wall.courses.len()));
    }
    let mut courses: Vec<(i64, i64)> = Vec::with_capacity(wall.courses.len());
    let mut below_mm = f64::NEG_INFINITY;
    for (course, &[bottom_mm, top_mm]) in (1..).zip(&wall.courses) {
        let (bottom, top) = (ticks_signed("bottom", bottom_mm)?, ticks_signed("top", top_mm)?);
        if bottom >= top {
            return Err(BoardsError::CourseBackwards { course, bottom_mm, top_mm });
        }
        if bottom_mm < below_mm {
            return Err(BoardsError::CoursesOverlap { course, bottom_mm, below_mm });
        }
        below_mm = top_mm;
        courses.push((bottom, top));
    }
    Ok(courses)
}
