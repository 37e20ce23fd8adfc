//! Why the pieces of a wall can't be counted.

use crate::setout::exact::LengthError;
use crate::setout::outline::OutlineError;
use crate::units::number::show;

/// Why the pieces can't be counted. Numbers are counted from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum PanelsError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("{0}")]
    Outline(#[from] OutlineError),
    #[error("{what} {} mm has to be more than 0", show(*given_mm))]
    NoSize { what: &'static str, given_mm: f64 },
    #[error("{what} {} mm is less than 0", show(*given_mm))]
    Negative { what: &'static str, given_mm: f64 },
    #[error("{what} {number} ends before it begins")]
    Backwards { what: &'static str, number: usize },
    #[error("lap {} mm is as high as the cover, {} mm, or higher", show(*lap_mm), show(*gain_mm))]
    Lap { lap_mm: f64, gain_mm: f64 },
    #[error("course {course} gains {} mm, more than a board is high, {} mm", show(*gain_mm), show(*board_mm))]
    BoardTooLow { course: usize, board_mm: f64, gain_mm: f64 },
    #[error("the courses reach {} mm and the cladding ends at {} mm: add courses", show(*reach_mm), show(*end_mm))]
    TooFewCourses { reach_mm: f64, end_mm: f64 },
    #[error("joints of {lists} courses are given for {courses} courses")]
    Lists { lists: usize, courses: usize },
    #[error("opening {number} overlaps opening {other}")]
    Overlap { number: usize, other: usize },
    #[error("opening {number} reaches past {past} of the wall")]
    Outside { number: usize, past: &'static str },
    #[error("{given} {what} are more than one wall has: at most {most}")]
    TooMany { what: &'static str, given: usize, most: usize },
}
