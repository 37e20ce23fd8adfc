//! What keeps a building from having a storey rod.

use super::{MOST_COURSES, MOST_OPENINGS, MOST_WALLS};
use crate::setout::exact::LengthError;
use crate::setout::outline::OutlineError;
use crate::units::number::show;

/// Why there is no storey rod.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum CoursesError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("wall '{wall}': {error}")]
    WallLength { wall: String, error: LengthError },
    #[error("wall '{wall}': {error}")]
    Outline { wall: String, error: OutlineError },
    #[error("{0} walls: give 1 to {MOST_WALLS}")]
    Walls(usize),
    #[error("wall '{0}' has {1} openings: the limit is {MOST_OPENINGS}")]
    Openings(String, usize),
    #[error("wall {0} has a blank key")]
    NoKey(usize),
    #[error("wall '{0}' is given twice")]
    Twice(String),
    #[error("lowest start {} mm is above the highest, {} mm", show(*lowest_mm), show(*highest_mm))]
    UpsideDown { lowest_mm: f64, highest_mm: f64 },
    #[error("starts from {} to {} mm are more than 20 m apart", show(*lowest_mm), show(*highest_mm))]
    TooWide { lowest_mm: f64, highest_mm: f64 },
    #[error("no whole millimetre lies between {} and {} mm: the nearest start is {} mm", show(*lowest_mm), show(*highest_mm), show(*nearest_mm))]
    NoWhole { lowest_mm: f64, highest_mm: f64, nearest_mm: f64 },
    #[error("wall '{wall}': top {} mm is not above the lowest start, {} mm", show(*top_mm), show(*lowest_mm))]
    BelowStart { wall: String, top_mm: f64, lowest_mm: f64 },
    #[error("wall '{wall}' would have {count} courses: the limit is {MOST_COURSES}. Is the cover right?")]
    TooManyCourses { wall: String, count: i64 },
    #[error("wall '{wall}', opening {number}: sill {} mm is not below its head, {} mm", show(*sill_mm), show(*head_mm))]
    OpeningUpsideDown { wall: String, number: usize, sill_mm: f64, head_mm: f64 },
    #[error("lift-in {} mm is not less than the cover, {} mm", show(*lift_in_mm), show(*cover_mm))]
    LiftIn { lift_in_mm: f64, cover_mm: f64 },
    #[error("wall '{wall}', opening {number}: its right side is not to the right of its left side")]
    OpeningBackwards { wall: String, number: usize },
    #[error("wall '{wall}', opening {number} reaches past the end of the wall")]
    OpeningOutside { wall: String, number: usize },
    #[error("no whole millimetre lies between the least cover, {} mm, and the most, {} mm", show(*least_mm), show(*most_mm))]
    Gains { least_mm: f64, most_mm: f64 },
    #[error("cover {} mm is not between the least, {} mm, and the most, {} mm", show(*cover_mm), show(*least_mm), show(*most_mm))]
    CoverOutside { cover_mm: f64, least_mm: f64, most_mm: f64 },
    #[error("floor lines at {} and {} mm: the second has to be further above the first than the joint is high", show(*lower_mm), show(*upper_mm))]
    FloorLines { lower_mm: f64, upper_mm: f64 },
    #[error("a joint of {} mm at a floor line, with {} mm to begin in: each is 0 to 20000 mm", show(*gap_mm), show(*range_mm))]
    FloorJoint { gap_mm: f64, range_mm: f64 },
    #[error("covers from {} to {} mm are too many for walls of this height: bring them closer together", show(*least_mm), show(*most_mm))]
    TooManyGains { least_mm: f64, most_mm: f64 },
}
