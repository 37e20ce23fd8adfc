//! What keeps a building from having a storey rod.

use super::{MOST_COURSES, MOST_OPENINGS, MOST_WALLS};
use crate::setout::exact::LengthError;
use crate::setout::outline::OutlineError;
use crate::units::number::show;

/// Why there is no storey rod.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CoursesError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// A length of one wall that can't be taken.
    #[error("wall '{wall}': {error}")]
    WallLength {
        /// The wall's key.
        wall: String,
        /// What is wrong.
        error: LengthError,
    },
    /// An outline that can't be taken.
    #[error("wall '{wall}': {error}")]
    Outline {
        /// The wall's key.
        wall: String,
        /// What is wrong.
        error: OutlineError,
    },
    /// No walls, or more than a building has.
    #[error("{0} walls: 1 to {MOST_WALLS} are taken")]
    Walls(usize),
    /// More openings than a wall has.
    #[error("wall '{0}' has {1} openings: at most {MOST_OPENINGS} are taken")]
    Openings(String, usize),
    /// A wall without a key.
    #[error("wall {0} has a blank key")]
    NoKey(usize),
    /// Two walls with one key.
    #[error("wall '{0}' is given twice")]
    Twice(String),
    /// The range is upside down.
    #[error("lowest start {} mm is above the highest, {} mm", show(*lowest_mm), show(*highest_mm))]
    UpsideDown {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
    },
    /// The range is absurdly wide.
    #[error("starts from {} to {} mm are more than 20 m apart", show(*lowest_mm), show(*highest_mm))]
    TooWide {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
    },
    /// The range holds no whole millimetre.
    #[error("no whole millimetre lies between {} and {} mm: the nearest start is {} mm", show(*lowest_mm), show(*highest_mm), show(*nearest_mm))]
    NoWhole {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
        /// The nearest whole millimetre.
        nearest_mm: f64,
    },
    /// A wall that ends below every start.
    #[error("wall '{wall}': top {} mm is not above the lowest start, {} mm", show(*top_mm), show(*lowest_mm))]
    BelowStart {
        /// The wall's key.
        wall: String,
        /// Its top.
        top_mm: f64,
        /// The lowest start.
        lowest_mm: f64,
    },
    /// A cover so small that the courses can't be counted on a rod.
    #[error("wall '{wall}' would have {count} courses: at most {MOST_COURSES} are taken, is the cover right?")]
    TooManyCourses {
        /// The wall's key.
        wall: String,
        /// How many courses.
        count: i64,
    },
    /// An opening that is upside down.
    #[error("wall '{wall}', opening {number}: sill {} mm is not below its head, {} mm", show(*sill_mm), show(*head_mm))]
    OpeningUpsideDown {
        /// The wall's key.
        wall: String,
        /// The opening, counted from 1.
        number: usize,
        /// Its sill.
        sill_mm: f64,
        /// Its head.
        head_mm: f64,
    },
    /// A lift-in that eats whole courses.
    #[error("lift-in {} mm is not less than the cover, {} mm", show(*lift_in_mm), show(*cover_mm))]
    LiftIn {
        /// The lift-in.
        lift_in_mm: f64,
        /// The cover.
        cover_mm: f64,
    },
    /// An opening that ends before it begins.
    #[error("wall '{wall}', opening {number}: its right side is not to the right of its left side")]
    OpeningBackwards {
        /// The wall's key.
        wall: String,
        /// The opening, counted from 1.
        number: usize,
    },
    /// An opening that reaches past an end of its wall.
    #[error("wall '{wall}', opening {number} reaches past the end of the wall")]
    OpeningOutside {
        /// The wall's key.
        wall: String,
        /// The opening, counted from 1.
        number: usize,
    },
    /// No whole gain lies within the lap's bounds.
    #[error("no whole millimetre lies between the least cover, {} mm, and the most, {} mm", show(*least_mm), show(*most_mm))]
    Gains {
        /// The least.
        least_mm: f64,
        /// The most.
        most_mm: f64,
    },
    /// Only one of the lap's bounds.
    #[error("cover_least_mm and cover_most_mm go together: give both or neither")]
    OneBound,
    /// The cover lies outside the lap's bounds.
    #[error("cover {} mm is not between the least, {} mm, and the most, {} mm", show(*cover_mm), show(*least_mm), show(*most_mm))]
    CoverOutside {
        /// The cover.
        cover_mm: f64,
        /// The least.
        least_mm: f64,
        /// The most.
        most_mm: f64,
    },
    /// The lap's bounds are too far apart for the height.
    #[error("covers from {} to {} mm are too many for walls of this height: bring them closer together", show(*least_mm), show(*most_mm))]
    TooManyGains {
        /// The least.
        least_mm: f64,
        /// The most.
        most_mm: f64,
    },
}
