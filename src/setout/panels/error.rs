//! Why the pieces of a wall can't be counted.

use crate::setout::exact::LengthError;
use crate::setout::outline::OutlineError;
use crate::units::number::show;

/// Why the pieces can't be counted. Numbers are counted from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PanelsError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// An outline that can't be taken.
    #[error("{0}")]
    Outline(#[from] OutlineError),
    /// Something that has to have some size has none.
    #[error("{what} {} mm has to be more than 0", show(*given_mm))]
    NoSize {
        /// What it is.
        what: &'static str,
        /// What was given.
        given_mm: f64,
    },
    /// A length that can't be negative is.
    #[error("{what} {} mm is less than 0", show(*given_mm))]
    Negative {
        /// What it is.
        what: &'static str,
        /// What was given.
        given_mm: f64,
    },
    /// A course, column or opening that ends before it begins.
    #[error("{what} {number} ends before it begins")]
    Backwards {
        /// What it is.
        what: &'static str,
        /// Which.
        number: usize,
    },
    /// A lap that leaves a course no face of its own.
    #[error("lap {} mm is as high as the cover, {} mm, or higher", show(*lap_mm), show(*gain_mm))]
    Lap {
        /// The lap.
        lap_mm: f64,
        /// What the course gains.
        gain_mm: f64,
    },
    /// A board that doesn't reach the course above.
    #[error("course {course} gains {} mm, more than a board is high, {} mm", show(*gain_mm), show(*board_mm))]
    BoardTooLow {
        /// The course.
        course: usize,
        /// The height of a board.
        board_mm: f64,
        /// What the course gains.
        gain_mm: f64,
    },
    /// Courses that end below the wall's end.
    #[error("the courses reach {} mm and the cladding ends at {} mm: add courses", show(*reach_mm), show(*end_mm))]
    TooFewCourses {
        /// The top of the last board.
        reach_mm: f64,
        /// Where the cladding ends.
        end_mm: f64,
    },
    /// Lists of joints, one a course, that are not as many as the courses.
    #[error("joints of {lists} courses are given for {courses} courses")]
    Lists {
        /// How many lists.
        lists: usize,
        /// How many courses.
        courses: usize,
    },
    /// Two openings that overlap.
    #[error("opening {number} overlaps opening {other}")]
    Overlap {
        /// The later one.
        number: usize,
        /// The earlier one.
        other: usize,
    },
    /// An opening outside its wall.
    #[error("opening {number} reaches past {past} of the wall")]
    Outside {
        /// Which.
        number: usize,
        /// Past what: `an end`, `the top`, `the base`.
        past: &'static str,
    },
    /// More of something than a wall has.
    #[error("{given} {what} are more than one wall has: at most {most}")]
    TooMany {
        /// What they are.
        what: &'static str,
        /// How many.
        given: usize,
        /// How many are taken.
        most: usize,
    },
}
