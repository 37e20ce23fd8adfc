//! Why board ends can't be set out.

use crate::setout::exact::LengthError;
use crate::setout::marks::MarkError;
use crate::units::number::show;

/// More courses than any wall has.
pub(super) const MOST_COURSES: usize = 500;

/// What is wrong with the wall that was given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BoardsError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// A stud or an opening that can't be taken.
    #[error("{0}")]
    Mark(#[from] MarkError),
    /// The board is shorter than the least piece.
    #[error("board {} mm is shorter than the least piece, {} mm", show(*board_mm), show(*least_mm))]
    BoardTooShort {
        /// The board.
        board_mm: f64,
        /// The least piece.
        least_mm: f64,
    },
    /// No courses.
    #[error("there are no courses: at least one is needed, as in courses = [[0, 150]]")]
    NoCourses,
    /// More courses than any wall has.
    #[error("{0} courses are more than one wall has: at most {MOST_COURSES}")]
    ManyCourses(usize),
    /// A course without a face.
    #[error("course {course}: bottom {} mm is not below top, {} mm", show(*bottom_mm), show(*top_mm))]
    CourseBackwards {
        /// Which, counted from 1.
        course: usize,
        /// Its bottom.
        bottom_mm: f64,
        /// Its top.
        top_mm: f64,
    },
    /// A course that begins below the top of the one before.
    #[error("course {course} begins at {} mm, below the top of the course under it, {} mm", show(*bottom_mm), show(*below_mm))]
    CoursesOverlap {
        /// Which, counted from 1.
        course: usize,
        /// Its bottom.
        bottom_mm: f64,
        /// The top of the course under it.
        below_mm: f64,
    },
    /// An opening whose sill is not below its head.
    #[error("opening {number}: sill {} mm is not below head, {} mm", show(*sill_mm), show(*head_mm))]
    SillOverHead {
        /// Which, counted from 1.
        number: usize,
        /// Its sill.
        sill_mm: f64,
        /// Its head.
        head_mm: f64,
    },
}
