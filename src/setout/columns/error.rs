//! Why a run can't be set out.

use crate::setout::exact::LengthError;
use crate::setout::marks::MarkError;
use crate::units::number::show;

/// More courses than any wall has.
pub const MOST_COURSES: u32 = 500;

/// Why there is no set-out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum ColumnsError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("{0}")]
    Mark(#[from] MarkError),
    #[error("courses {0} is outside 1 to {MOST_COURSES}")]
    Courses(u32),
    #[error("panel {} mm is shorter than the least piece, {} mm", show(*panel_mm), show(*least_mm))]
    PanelTooShort { panel_mm: f64, least_mm: f64 },
    #[error("stud {number} at {} mm overlaps the one at {} mm: they are {} mm wide", show(*at_mm), show(*other_mm), show(*width_mm))]
    StudsOverlap { number: usize, at_mm: f64, other_mm: f64, width_mm: f64 },
    #[error("stud_width_mm and bearing_mm are given together or not at all: {0} is missing")]
    HalfBearing(&'static str),
    #[error("bearing {} mm is more than a stud is wide, {} mm", show(*bearing_mm), show(*width_mm))]
    BearingTooWide { bearing_mm: f64, width_mm: f64 },
    #[error("no joints on whole millimetres fit {} mm: give the panel or the least piece a millimetre of room", show(*length_mm))]
    NoWhole { length_mm: f64 },
    #[error("no joints fit {} mm: the studs leave no room to add one beside them where a joint must stand", show(*length_mm))]
    NoBearing { length_mm: f64 },
    #[error("no columns fit {} mm: {}", show(*length_mm), nearest(*fewer, *more))]
    NoFit { length_mm: f64, fewer: Option<(i64, f64)>, more: (i64, f64) },
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
