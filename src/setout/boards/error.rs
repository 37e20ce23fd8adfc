//! Why board ends can't be set out.

use crate::setout::exact::LengthError;
use crate::setout::marks::MarkError;
use crate::units::number::show;

/// More courses than any wall has.
pub(super) const MOST_COURSES: usize = 500;

/// What is wrong with the wall that was given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum BoardsError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("{0}")]
    Mark(#[from] MarkError),
    #[error("board {} mm is shorter than the least piece, {} mm", show(*board_mm), show(*least_mm))]
    BoardTooShort { board_mm: f64, least_mm: f64 },
    #[error("there are no courses: at least one is needed, as in courses = [[0, 150]]")]
    NoCourses,
    #[error("{0} courses are more than one wall has: at most {MOST_COURSES}")]
    ManyCourses(usize),
    #[error("course {course}: bottom {} mm is not below top, {} mm", show(*bottom_mm), show(*top_mm))]
    CourseBackwards { course: usize, bottom_mm: f64, top_mm: f64 },
    #[error("course {course} begins at {} mm, below the top of the course under it, {} mm", show(*bottom_mm), show(*below_mm))]
    CoursesOverlap { course: usize, bottom_mm: f64, below_mm: f64 },
    #[error("opening {number}: sill {} mm is not below head, {} mm", show(*sill_mm), show(*head_mm))]
    SillOverHead { number: usize, sill_mm: f64, head_mm: f64 },
}
