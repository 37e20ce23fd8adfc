//! Lengths as whole ticks of half a micrometre, so that remainders and sums of squares come out exact.
//!
//! Half a micrometre, because a joint given to 0.001 mm takes half its width from each side.

use crate::units::number::show;

/// Ticks in a millimetre.
pub const TICKS_IN_MM: i64 = 2000;

/// The longest length that is taken, either way, in millimetres.
const MOST_MM: f64 = 200_000.0;

/// A length that no wall has.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} {} mm is outside {} to {} mm", show(*given_mm), show(*least_mm), show(*most_mm))]
pub struct LengthError {
    what: &'static str,
    given_mm: f64,
    least_mm: f64,
    most_mm: f64,
}

/// A length of at least `least_mm` and at most 200 m in ticks, to the nearest 0.001 mm: heights that come out of a pitch are
/// finer. `what` is its name in a message.
///
/// # Errors
/// [`LengthError`] when it is outside or not a number.
pub fn ticks(what: &'static str, mm: f64, least_mm: f64) -> Result<i64, LengthError> {
    // What is not a number lies in no range.
    if !(least_mm..=MOST_MM).contains(&mm) {
        return Err(LengthError { what, given_mm: mm, least_mm, most_mm: MOST_MM });
    }
    Ok((mm * 1000.0).round() as i64 * (TICKS_IN_MM / 1000))
}

/// Any height or place, below the datum too, in ticks.
///
/// # Errors
/// As [`ticks`].
pub fn ticks_signed(what: &'static str, mm: f64) -> Result<i64, LengthError> {
    ticks(what, mm, -MOST_MM)
}

/// The nearest tick to a length that is already a result, such as the edge of a column half a joint from its centre.
///
/// # Errors
/// [`LengthError`] when it is longer than any wall, or not a number.
pub fn nearest_tick(what: &'static str, mm: f64) -> Result<i64, LengthError> {
    if !(-MOST_MM..=MOST_MM).contains(&mm) {
        return Err(LengthError { what, given_mm: mm, least_mm: -MOST_MM, most_mm: MOST_MM });
    }
    Ok((mm * TICKS_IN_MM as f64).round() as i64)
}

/// Ticks back in millimetres; exact to the last digit that was given.
pub fn mm(ticks: i64) -> f64 {
    ticks as f64 / TICKS_IN_MM as f64
}

/// The first whole millimetre at or above.
pub fn ceil_mm(ticks: i64) -> i64 {
    ticks.div_euclid(TICKS_IN_MM) + i64::from(ticks.rem_euclid(TICKS_IN_MM) != 0)
}

/// The last whole millimetre at or below.
pub fn floor_mm(ticks: i64) -> i64 {
    ticks.div_euclid(TICKS_IN_MM)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_taken_to_a_thousandth_of_a_millimetre() {
        assert_eq!(ticks("panel", 1200.001, 0.0), Ok(2_400_002));
        assert_eq!(mm(2_400_002), 1200.001);
        assert_eq!(ticks("panel", 0.1 + 0.2, 0.0), Ok(600), "the last bit of a sum is not a finer length");
        assert_eq!(ceil_mm(2001), 2);
        assert_eq!(ceil_mm(-2001), -1);
        assert_eq!(floor_mm(-1), -1);
        let said = |mm: f64| ticks("panel", mm, 1.0).unwrap_err().to_string();
        assert_eq!(said(0.5), "panel 0.5 mm is outside 1 to 200000 mm");
        assert_eq!(said(f64::NAN), "panel not a number mm is outside 1 to 200000 mm");
        // A pitch of 30° over 3000 mm.
        assert_eq!(ticks("top", 3000.0 * 30_f64.to_radians().tan(), 0.0), Ok(3_464_102));
    }
}
