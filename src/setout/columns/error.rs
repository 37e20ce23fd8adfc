//! Why a run can't be set out.

use crate::setout::exact::LengthError;
use crate::setout::marks::MarkError;
use crate::units::number::show;

/// More courses than any wall has.
pub const MOST_COURSES: u32 = 500;

/// Why there is no set-out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ColumnsError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// A stud, an opening or an end that can't be taken.
    #[error("{0}")]
    Mark(#[from] MarkError),
    /// No courses, or more than any wall has.
    #[error("courses {0} is outside 1 to {MOST_COURSES}")]
    Courses(u32),
    /// The panel is shorter than the least piece.
    #[error("panel {} mm is shorter than the least piece, {} mm", show(*panel_mm), show(*least_mm))]
    PanelTooShort {
        /// The panel.
        panel_mm: f64,
        /// The least piece.
        least_mm: f64,
    },
    /// Two studs nearer than they are wide.
    #[error("stud {number} at {} mm overlaps the one at {} mm: they are {} mm wide", show(*at_mm), show(*other_mm), show(*width_mm))]
    StudsOverlap {
        /// The second one, counted from 1.
        number: usize,
        /// Where.
        at_mm: f64,
        /// The one before it.
        other_mm: f64,
        /// The width of a stud.
        width_mm: f64,
    },
    /// Only one of stud width and bearing.
    #[error("stud_width_mm and bearing_mm are given together or not at all: {0} is missing")]
    HalfBearing(&'static str),
    /// A panel edge that no stud is wide enough for.
    #[error("bearing {} mm is more than a stud is wide, {} mm", show(*bearing_mm), show(*width_mm))]
    BearingTooWide {
        /// What a panel edge needs.
        bearing_mm: f64,
        /// The width of a stud.
        width_mm: f64,
    },
    /// Columns fit the length, but not with joints on whole millimetres.
    #[error("no joints on whole millimetres fit {} mm: give the panel or the least piece a millimetre of room", show(*length_mm))]
    NoWhole {
        /// The length to be clad.
        length_mm: f64,
    },
    /// Columns fit the length, but some joint would have no bearing.
    #[error("no joints fit {} mm: the studs leave no room to add one beside them where a joint must stand", show(*length_mm))]
    NoBearing {
        /// The length to be clad.
        length_mm: f64,
    },
    /// No columns fit the length.
    #[error("no columns fit {} mm: {}", show(*length_mm), nearest(*fewer, *more))]
    NoFit {
        /// The length to be clad.
        length_mm: f64,
        /// The most columns that are too short, and how far they reach.
        fewer: Option<(i64, f64)>,
        /// The fewest columns that are too long, and what they need.
        more: (i64, f64),
    },
}

/// What would fit, in words.
fn nearest(fewer: Option<(i64, f64)>, more: (i64, f64)) -> String {
    let needs = |(count, need): (i64, f64)| match count {
        1 => format!("1 column needs at least {} mm", show(need)),
        count => format!("{count} columns need at least {} mm", show(need)),
    };
    match fewer {
        Some((1, reach)) => format!("1 column reaches {} mm, {}", show(reach), needs(more)),
        Some((count, reach)) => format!("{count} columns reach {} mm, {}", show(reach), needs(more)),
        None => needs(more),
    }
}
