//! C6: every piece of a wall as a polygon, with its rip, notches, angles, area and cut edge.
//!
//! The field is what cladding covers: the wall between its ends, under its top and over its base, without its openings
//! and their gaps. Each course of each column is cut out of it; what is left of one may be one piece with a notch or a
//! hole, or several. Lapped boards reach up behind the course above them.

mod error;
mod field;
mod notches;
mod piece;

use serde::Serialize;

pub use self::error::PanelsError;
use self::field::Field;
pub use self::notches::Notch;
pub use self::piece::Piece;
use super::columns::Gap;
use super::exact::{mm, nearest_tick};
pub use super::opening::WallOpening;
use super::outline::{Outline, Profile};
use crate::units::number::total;

/// More pieces than any wall has.
const MOST_PIECES: usize = 100_000;
/// More openings than one wall has.
const MOST_OPENINGS: usize = 500;
/// More courses than any wall has.
const MOST_COURSES: usize = 5_000;

/// One wall, set out. Lengths along from the framing's left corner as seen from outside, heights above the datum, in
/// millimetres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetOut {
    /// The length of the framing.
    pub length_mm: f64,
    /// The columns of each course, or one list for all of them.
    pub columns: Vec<Vec<Gap>>,
    /// The line of each course.
    pub courses_mm: Vec<f64>,
    /// The height of a whole panel or board: what a course gains, and the lap.
    pub board_height_mm: f64,
    /// The upper outline.
    pub top: Outline,
    /// The lower outline, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base: Option<Outline>,
    /// Windows and doors: what cladding stops at.
    pub openings: Vec<WallOpening>,
    /// The joints at floor lines, from the lowest.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub floors: Vec<FloorJoint>,
    /// The gaps.
    #[serde(flatten)]
    pub gaps: Gaps,
    /// The length of a whole panel, where it is known: a piece as long keeps both factory ends.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub panel_mm: Option<f64>,
    /// The least length and height of a piece, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_piece_mm: Option<f64>,
}

impl SetOut {
    /// The lowest course line.
    pub fn lowest_mm(&self) -> f64 {
        self.courses_mm.first().copied().unwrap_or_default()
    }

    /// Where cladding begins at a place: at its base, and not below its lowest course line.
    pub fn foot_mm(&self, along_mm: f64) -> f64 {
        self.base.as_ref().map_or(self.lowest_mm(), |base| base.height_mm(along_mm).max(self.lowest_mm()))
    }

    /// How high cladding stands at a place, its openings not taken off.
    pub fn height_mm(&self, along_mm: f64) -> f64 {
        (self.top.height_mm(along_mm) - self.foot_mm(along_mm)).max(0.0)
    }

    /// The stretches of the run that reach over a height and under it, openings that stand across it taken out.
    pub fn along_mm(&self, height_mm: f64) -> Vec<(f64, f64)> {
        let (left, right) = self.ends_mm();
        let level = |outline: &Outline| outline.crossings_mm(height_mm);
        let across = self.openings.iter().filter(|opening| {
            opening.sill_mm.is_none_or(|sill| sill < height_mm) && opening.head_mm.is_none_or(|head| head > height_mm)
        });
        let across: Vec<(f64, f64)> = across.map(|opening| (opening.from_mm, opening.to_mm)).collect();
        let mut places = [level(&self.top), self.base.as_ref().map(level).unwrap_or_default()].concat();
        places.extend(across.iter().flat_map(|(from, to)| [*from, *to]));
        places.retain(|place| *place > left && *place < right);
        places.extend([left, right]);
        places.sort_by(f64::total_cmp);
        places.dedup();
        let mut stretches: Vec<(f64, f64)> = Vec::new();
        for pair in places.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let clad = self.foot_mm(middle) < height_mm && height_mm < self.top.height_mm(middle);
            if !clad || across.iter().any(|(from, to)| *from < middle && middle < *to) {
                continue;
            }
            match stretches.last_mut() {
                Some((_, end)) if *end == pair[0] => *end = pair[1],
                _ => stretches.push((pair[0], pair[1])),
            }
        }
        stretches
    }

    /// The left and the right end of the run.
    pub fn ends_mm(&self) -> (f64, f64) {
        let columns = self.columns.first().map_or(&[][..], Vec::as_slice);
        (columns.first().map_or(0.0, |column| column.from_mm), columns.last().map_or(0.0, |column| column.to_mm))
    }
}

/// What is left free round the pieces of a wall, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Gaps {
    /// Under the top, measured upright.
    pub lift_in_mm: f64,
    /// Over the base.
    pub base_gap_mm: f64,
    /// Beside an upright step of top or base.
    pub step_gap_mm: f64,
    /// Left and right of an opening.
    pub gap_mm: f64,
    /// Over a head.
    pub head_gap_mm: f64,
    /// Under a sill.
    pub sill_gap_mm: f64,
}

/// A joint along a floor line: what is left free between two lifts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FloorJoint {
    /// The floor line.
    pub floor_mm: f64,
    /// Where the cladding above begins: the lowest line of its lift.
    pub above_mm: f64,
}

/// Every piece of a wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Panels {
    /// The pieces: by course from the bottom, then by column, then from the bottom left.
    pub pieces: Vec<Piece>,
    /// Their area in all, in square metres.
    pub area_m2: f64,
    /// Their cut edge in all, in metres.
    pub cut_edge_m: f64,
    /// The labels of pieces shorter or lower than the least piece, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub small: Option<Vec<String>>,
}

/// The columns between two ends and the joints between them: each joint takes half its width from either side.
pub fn columns_between(left_mm: f64, right_mm: f64, joints_mm: &[f64], joint_mm: f64) -> Vec<Gap> {
    let half = joint_mm / 2.0;
    let from = std::iter::once(left_mm).chain(joints_mm.iter().map(|joint| joint + half));
    let to = joints_mm.iter().map(|joint| joint - half).chain([right_mm]);
    from.zip(to).map(|(from_mm, to_mm)| Gap { from_mm, to_mm }).collect()
}

/// Courses a cover apart, as many as a top has: their lines, and the height of a board with its lap.
///
/// # Errors
/// [`PanelsError`] for a cover or lap that can't be taken, or more courses than a wall has.
pub fn even_courses(lowest_mm: f64, cover_mm: f64, lap_mm: f64, top: &Outline) -> Result<(Vec<f64>, f64), PanelsError> {
    let (cover, lap) = (field::size("cover", cover_mm)?, field::not_negative("lap", lap_mm)?);
    if lap >= cover {
        return Err(PanelsError::Lap { lap_mm, gain_mm: cover_mm });
    }
    let lowest = nearest_tick("course line", lowest_mm)?;
    let top = nearest_tick("top", top.highest_mm())?;
    // At most 400 m by 1 tick: no overflow.
    let count = usize::try_from((top - lowest + cover - 1) / cover).unwrap_or(0);
    if count > MOST_COURSES {
        return Err(PanelsError::TooMany { what: "courses", given: count, most: MOST_COURSES });
    }
    let lines = (0..count as i64).map(|course| mm(lowest + course * cover)).collect();
    Ok((lines, mm(cover + lap)))
}

/// Every piece of a wall.
///
/// A band is as high as a board; its face is what the course above leaves in sight. With a lap the board reaches up
/// behind the next course wherever its face reaches that course's line, and nowhere else: over a head or a step, where
/// the face is cut below the line, nothing hidden is left standing.
///
/// Cut edge is outline and holes, less what lies on the bottom and the top of the band, and, where the panel's length
/// is known, less both ends of a piece as long and less the longer end of any other.
///
/// # Errors
/// [`PanelsError`] for a length that is out of range, openings that overlap or lie outside the wall, outlines that
/// cross, courses that don't reach the top, or more of anything than one wall has.
pub fn panels(wall: &SetOut) -> Result<Panels, PanelsError> {
    let field = Field::of(wall)?;
    let bands = field::bands(wall, field.highest_end())?;
    let panel = wall.panel_mm.map(|length| field::size("panel", length)).transpose()?;
    let least = wall.least_piece_mm.map(|least| field::not_negative("least piece", least)).transpose()?;
    let mut pieces = Vec::new();
    let mut small = Vec::new();
    for (course, band) in (1..).zip(&bands) {
        for (column, &sides) in (1..).zip(field.columns(course)) {
            let shapes = field.cut(band, sides);
            let several = shapes.len() > 1;
            for (place, shape) in shapes.iter().enumerate() {
                let letters = if several { letters(place) } else { String::new() };
                let label = format!("C{course}-{column}{letters}");
                let Some(piece) = Piece::of(shape, label, (course, column), band, panel) else { continue };
                if least.is_some_and(|least| piece.is_below(least)) {
                    small.push(piece.label.clone());
                }
                pieces.push(piece);
            }
        }
        if pieces.len() > MOST_PIECES {
            return Err(PanelsError::TooMany { what: "pieces", given: pieces.len(), most: MOST_PIECES });
        }
    }
    let area_m2 = total(pieces.iter().map(|piece| piece.area_m2));
    let cut_edge_m = total(pieces.iter().map(|piece| piece.cut_edge_m));
    Ok(Panels { pieces, area_m2, cut_edge_m, small: least.map(|_| small) })
}

/// What is seen of every piece of a wall: outlines and holes in millimetres, for drawings.
///
/// # Errors
/// As [`panels`].
pub fn faces(wall: &SetOut) -> Result<Vec<Vec<[f64; 2]>>, PanelsError> {
    let field = Field::of(wall)?;
    let bands = field::bands(wall, field.highest_end())?;
    let seen = bands.iter().zip(1..).flat_map(|(band, course)| {
        let field = &field;
        field.columns(course).iter().flat_map(move |sides| field.faces(band, *sides))
    });
    Ok(seen.flatten().map(|ring| piece::rounded(&ring)).filter(|ring| ring.len() > 2).collect())
}

/// a, b … z, aa, ab …
fn letters(place: usize) -> String {
    let last = char::from(b'a' + (place % 26) as u8);
    match place / 26 {
        0 => last.to_string(),
        more => format!("{}{last}", letters(more - 1)),
    }
}
