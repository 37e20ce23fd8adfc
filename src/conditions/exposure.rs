//! C13, eight-hour time-weighted average of what a person breathed over a day.
//!
//! 29 CFR 1910.1000(d)(1)(i): `E = (C_a·T_a + … + C_n·T_n) / 8`. The divisor is eight hours however long the day was.
//! Mixtures: (d)(2)(i), `E_m = Σ C / L`, too much when over 1. Silica: 29 CFR 1926.1153, action level 25 and limit
//! 50 µg/m³ as eight-hour averages. Local law comes first.

use crate::units::number::show;

/// Minutes that the average is taken over.
const SHIFT_MIN: f64 = 480.0;
/// A person's day has no more minutes than this.
const DAY_MIN: f64 = 1440.0;
/// Levels above this are slips of the keyboard, whatever the unit.
const MOST_LEVEL: f64 = 1e9;

/// Respirable crystalline silica: from here on, exposure is assessed (29 CFR 1926.1153, µg/m³ over eight hours).
pub const SILICA_ACTION_LEVEL: f64 = 25.0;
/// Respirable crystalline silica: the most that is permitted (29 CFR 1926.1153, µg/m³ over eight hours).
pub const SILICA_LIMIT: f64 = 50.0;

/// A stretch of the day at one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stint {
    /// The level in the air, in any one unit, such as µg/m³ or ppm.
    pub level: f64,
    /// How long, minutes.
    pub minutes: f64,
}

/// One part of a mixture, and its own limit in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The eight-hour average of this substance.
    pub twa8: f64,
    /// Its limit.
    pub limit: f64,
}

/// Why there is no average. `row` counts from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExposureError {
    /// No stretches at all.
    #[error("no levels were given: at least one level and its minutes are needed")]
    Empty,
    /// A level that is negative, not a number or absurd.
    #[error("row {row}: level {} must be 0 or more", show(*.level))]
    Level {
        /// Which stretch.
        row: usize,
        /// What was given.
        level: f64,
    },
    /// Minutes that are negative or not a number.
    #[error("row {row}: {} minutes must be 0 to 1440", show(*.minutes))]
    Minutes {
        /// Which stretch.
        row: usize,
        /// What was given.
        minutes: f64,
    },
    /// More minutes than a day has.
    #[error("row {row}: the minutes up to here come to {}, a day has 1440: give one day's work at a time", show(*.total))]
    LongerThanADay {
        /// The stretch that brings it over.
        row: usize,
        /// The sum up to and with it.
        total: f64,
    },
    /// A limit of 0 or less.
    #[error("row {row}: limit {} must be above 0", show(*.limit))]
    Limit {
        /// Which part.
        row: usize,
        /// What was given.
        limit: f64,
    },
}

/// The eight-hour time-weighted average, in the unit of the levels.
///
/// # Errors
/// [`ExposureError`]: no stretches, a level or a time that can't be, or more than a day of them.
///
/// # Example
/// ```
/// use cladlog::conditions::exposure::{Stint, twa8};
/// // Ten hours at 40: the sum is divided by eight hours, not by ten.
/// assert_eq!(twa8(&[Stint { level: 40.0, minutes: 600.0 }]), Ok(50.0));
/// ```
pub fn twa8(stints: &[Stint]) -> Result<f64, ExposureError> {
    if stints.is_empty() {
        return Err(ExposureError::Empty);
    }
    let (mut dose, mut total) = (0.0, 0.0);
    for (row, stint) in (1..).zip(stints) {
        level_check(row, stint.level)?;
        if !(0.0..=DAY_MIN).contains(&stint.minutes) {
            return Err(ExposureError::Minutes { row, minutes: stint.minutes });
        }
        total += stint.minutes;
        if total > DAY_MIN + 1e-9 {
            return Err(ExposureError::LongerThanADay { row, total });
        }
        dose += stint.level * stint.minutes;
    }
    Ok(dose / SHIFT_MIN)
}

/// The share of the limits that a mixture takes up: over 1 is too much.
///
/// # Errors
/// [`ExposureError`]: no parts, a level that can't be, or a limit of 0 or less.
pub fn mixture(parts: &[Part]) -> Result<f64, ExposureError> {
    if parts.is_empty() {
        return Err(ExposureError::Empty);
    }
    let mut share = 0.0;
    for (row, part) in (1..).zip(parts) {
        level_check(row, part.twa8)?;
        if !(part.limit > 0.0 && part.limit.is_finite()) {
            return Err(ExposureError::Limit { row, limit: part.limit });
        }
        share += part.twa8 / part.limit;
    }
    Ok(share)
}

fn level_check(row: usize, level: f64) -> Result<(), ExposureError> {
    if (0.0..=MOST_LEVEL).contains(&level) { Ok(()) } else { Err(ExposureError::Level { row, level }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(stints: &[(f64, f64)]) -> Result<f64, ExposureError> {
        twa8(&stints.iter().map(|&(level, minutes)| Stint { level, minutes }).collect::<Vec<_>>())
    }

    #[test]
    fn what_has_no_average_is_named() {
        let error = |stints: &[(f64, f64)]| day(stints).unwrap_err().to_string();
        assert_eq!(error(&[]), "no levels were given: at least one level and its minutes are needed");
        assert_eq!(error(&[(1.0, 1.0), (-2.5, 1.0)]), "row 2: level -2.5 must be 0 or more");
        assert_eq!(error(&[(f64::NAN, 1.0)]), "row 1: level not a number must be 0 or more");
        assert_eq!(error(&[(1.0, -5.0)]), "row 1: -5 minutes must be 0 to 1440");
        assert_eq!(
            error(&[(1.0, 1000.0), (1.0, 441.0)]),
            "row 2: the minutes up to here come to 1441, a day has 1440: give one day's work at a time"
        );
        assert_eq!(
            mixture(&[Part { twa8: 1.0, limit: 0.0 }]).unwrap_err().to_string(),
            "row 1: limit 0 must be above 0"
        );
    }

    proptest::proptest! {
        #[test]
        fn eight_hours_at_one_level_average_to_it_however_cut(level in 0.0f64..1e4, cut in 0.0f64..480.0) {
            let average = day(&[(level, cut), (level, 480.0 - cut)]).unwrap();
            proptest::prop_assert!((average - level).abs() <= 1e-9 * (1.0 + level));
        }

        #[test]
        fn more_time_in_dust_never_averages_less(level in 0.0f64..1e4, more in 0.0f64..300.0) {
            proptest::prop_assert!(day(&[(level, 480.0 + more)]).unwrap() >= day(&[(level, 480.0)]).unwrap());
        }
    }
}
