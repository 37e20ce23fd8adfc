//! Studs and openings along a wall, checked: what the set-out of columns and of board ends have in common.

use super::exact::{LengthError, mm, ticks, ticks_signed};
use crate::building::Ends;
use crate::units::number::show;

/// More studs or openings than one wall has.
const MOST_MARKS: usize = 10_000;

/// What is wrong with a stud, an opening or the ends of a wall.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum MarkError {
    #[error("{0}")]
    Length(#[from] LengthError),
    #[error("{what} {number}: {error}")]
    Mark { what: &'static str, number: usize, error: LengthError },
    #[error("{0} {1} are more than one wall has: at most {MOST_MARKS}")]
    TooMany(usize, &'static str),
    #[error("the two ends take {} mm of a wall of {} mm: nothing is left to clad", show(*ends_mm), show(*length_mm))]
    NothingLeft { ends_mm: f64, length_mm: f64 },
    #[error("stud {number} at {} mm is beyond the end of the wall, {} mm", show(*at_mm), show(*length_mm))]
    StudOutside { number: usize, at_mm: f64, length_mm: f64 },
    #[error("stud {number} at {} mm is given twice", show(*at_mm))]
    StudTwice { number: usize, at_mm: f64 },
    #[error("opening {number}: from {} mm is not before to, {} mm", show(*from_mm), show(*to_mm))]
    OpeningBackwards { number: usize, from_mm: f64, to_mm: f64 },
    #[error("opening {number}: to {} mm is beyond the end of the wall, {} mm", show(*to_mm), show(*length_mm))]
    OpeningOutside { number: usize, to_mm: f64, length_mm: f64 },
}

/// More than any wall has is refused before it is looked at.
pub(super) fn not_too_many(count: usize, what: &'static str) -> Result<(), MarkError> {
    if count > MOST_MARKS { Err(MarkError::TooMany(count, what)) } else { Ok(()) }
}

/// What the ends take of a length, left and right, in ticks.
pub(super) fn checked_ends(ends: Ends, length: i64) -> Result<(i64, i64), MarkError> {
    let (left, right) = (ticks_signed("left end", ends.left_mm)?, ticks_signed("right end", ends.right_mm)?);
    match length <= left + right {
        true => Err(MarkError::NothingLeft { ends_mm: mm(left + right), length_mm: mm(length) }),
        false => Ok((left, right)),
    }
}

/// The centres of the studs in ticks, growing, each with its number as given.
pub(super) fn checked_studs(studs_mm: &[f64], length: i64) -> Result<Vec<(i64, usize)>, MarkError> {
    not_too_many(studs_mm.len(), "studs")?;
    let mut studs = Vec::with_capacity(studs_mm.len());
    for (&at_mm, number) in studs_mm.iter().zip(1..) {
        let at = ticks("at", at_mm, 0.0).map_err(|error| MarkError::Mark { what: "stud", number, error })?;
        if at > length {
            return Err(MarkError::StudOutside { number, at_mm, length_mm: mm(length) });
        }
        studs.push((at, number));
    }
    studs.sort_unstable();
    for pair in studs.windows(2) {
        if let [(first, _), (second, number)] = *pair
            && first == second
        {
            return Err(MarkError::StudTwice { number, at_mm: mm(second) });
        }
    }
    Ok(studs)
}

/// The sides of an opening in ticks.
pub(super) fn checked_opening(number: usize, from_mm: f64, to_mm: f64, length: i64) -> Result<(i64, i64), MarkError> {
    let at = |what, mm| ticks(what, mm, 0.0).map_err(|error| MarkError::Mark { what: "opening", number, error });
    let (from, to) = (at("from", from_mm)?, at("to", to_mm)?);
    if from >= to {
        return Err(MarkError::OpeningBackwards { number, from_mm, to_mm });
    }
    if to > length {
        return Err(MarkError::OpeningOutside { number, to_mm, length_mm: mm(length) });
    }
    Ok((from, to))
}
