//! Lengths as whole ticks of half a micrometre, so that remainders and sums of squares come out exact.
//!
//! Half a micrometre, because a joint given to 0.001 mm takes half its width from each side.

use crate::units::number::show;

/// Ticks in a millimetre.
pub const TICKS_IN_MM: i64 = 2000;

/// The longest length that is taken, either way, in millimetres.
const MOST_MM: f64 = 200_000.0;

/// A length that can't be set out exactly.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum LengthError {
    #[error("{what} {} mm is outside {} to {} mm", show(*given_mm), show(*least_mm), show(*most_mm))]
    Outside { what: &'static str, given_mm: f64, least_mm: f64, most_mm: f64 },
    #[error("{what} {given_mm} mm is finer than 0.001 mm: round it")]
    TooFine { what: &'static str, given_mm: f64 },
}

/// A length of at least `least_mm` and at most 200 m in ticks; `what` is its name in a message.
///
/// # Errors
/// [`LengthError`] when it is outside, not a number, or finer than 0.001 mm.
pub fn ticks(what: &'static str, mm: f64, least_mm: f64) -> Result<i64, LengthError> {
    // What is not a number lies in no range.
    if !(least_mm..=MOST_MM).contains(&mm) {
        return Err(LengthError::Outside { what, given_mm: mm, least_mm, most_mm: MOST_MM });
    }
    let micrometres = (mm * 1000.0).round();
    if (mm * 1000.0 - micrometres).abs() > 1e-4 {
        return Err(LengthError::TooFine { what, given_mm: mm });
    }
    Ok(micrometres as i64 * (TICKS_IN_MM / 1000))
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
/// [`LengthError::Outside`] when it is longer than any wall, or not a number.
pub fn nearest_tick(what: &'static str, mm: f64) -> Result<i64, LengthError> {
    if !(-MOST_MM..=MOST_MM).contains(&mm) {
        return Err(LengthError::Outside { what, given_mm: mm, least_mm: -MOST_MM, most_mm: MOST_MM });
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
    fn lengths_are_exact_or_refused() {
        assert_eq!(ticks("panel", 1200.001, 0.0), Ok(2_400_002));
        assert_eq!(mm(2_400_002), 1200.001);
        assert_eq!(ticks("panel", 0.1 + 0.2, 0.0), Ok(600), "the last bit of a sum is not a finer length");
        assert_eq!(ceil_mm(2001), 2);
        assert_eq!(ceil_mm(-2001), -1);
        assert_eq!(floor_mm(-1), -1);
        let said = |mm: f64| ticks("panel", mm, 1.0).unwrap_err().to_string();
        assert_eq!(said(0.5), "panel 0.5 mm is outside 1 to 200000 mm");
        assert_eq!(said(f64::NAN), "panel not a number mm is outside 1 to 200000 mm");
        assert_eq!(said(1.00005), "panel 1.00005 mm is finer than 0.001 mm: round it");
    }
}
