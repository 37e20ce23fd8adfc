//! C13, eight-hour time-weighted average of what a person breathed over a day.
//!
//! 29 CFR 1910.1000(d)(1)(i): `E = (C_a·T_a + … + C_n·T_n) / 8`. The divisor is eight hours however long the day was.
//! Limits are the job's own: the law of one place stands in for no other's.

use serde::{Deserialize, Serialize};

use crate::form::InRow;
use crate::units::number::show;
use crate::units::{Bounds, OutOfRange};

/// Minutes that the average is taken over.
const SHIFT_MIN: f64 = 480.0;
/// A person's day has no more minutes.
const MINUTES: Bounds = Bounds { what: "minutes", unit: "", least: 0.0, most: 1440.0 };
/// Levels above this are slips of the keyboard, whatever the unit.
const LEVEL: Bounds = Bounds { what: "level", unit: "", least: 0.0, most: 1e9 };

/// A stretch of the day at one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stint {
    /// The level in the air, in any one unit, such as µg/m³ or ppm.
    pub level: f64,
    /// How long, minutes.
    pub minutes: f64,
}

/// What a day comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Exposure {
    /// The eight-hour time-weighted average, in the unit of the levels.
    pub twa8: f64,
    /// Against the limits that were given.
    #[serde(flatten)]
    pub judged: Option<Judged>,
}

/// An average held against limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judged {
    /// How it stands.
    pub verdict: Verdict,
    /// The limit on the average.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// From where on the exposure is to be assessed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub action: Option<f64>,
    /// The paper that both are from.
    pub basis: String,
}

/// How an average stands to its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Over the limit.
    OverLimit,
    /// At the action level, or over it.
    AtActionLevel,
    /// Below both.
    Below,
}

impl Exposure {
    /// An average held against a limit, an action level or both; not judged where there is neither, or no paper that
    /// they are from.
    pub fn of(twa8: f64, limit: Option<f64>, action: Option<f64>, basis: Option<&str>) -> Self {
        let verdict = match (limit, action) {
            (Some(limit), _) if twa8 > limit => Verdict::OverLimit,
            (_, Some(action)) if twa8 >= action => Verdict::AtActionLevel,
            _ => Verdict::Below,
        };
        let basis = basis.filter(|_| limit.or(action).is_some());
        let judged = basis.map(|basis| Judged { verdict, limit, action, basis: basis.to_owned() });
        Self { twa8, judged }
    }
}

impl Judged {
    /// "OVER THE LIMIT: limit 50, action level 25 (29 CFR 1926.1153)".
    pub fn in_words(&self) -> String {
        let words = match self.verdict {
            Verdict::OverLimit => "OVER THE LIMIT",
            Verdict::AtActionLevel => "AT OR OVER THE ACTION LEVEL",
            Verdict::Below => "below",
        };
        let bounds = [("limit", self.limit), ("action level", self.action)];
        let bounds = bounds.into_iter().filter_map(|(name, bound)| Some(format!("{name} {}", show(bound?))));
        format!("{words}: {} ({})", bounds.collect::<Vec<_>>().join(", "), self.basis)
    }
}

/// Why there is no average.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum ExposureError {
    #[error("no levels were given: at least one level and its minutes are needed")]
    Empty,
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("the minutes so far add up to {}; a day has 1440. Enter one day at a time", show(*.0))]
    LongerThanADay(f64),
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
pub fn twa8(stints: &[Stint]) -> Result<f64, InRow<ExposureError>> {
    if stints.is_empty() {
        return Err(InRow::whole(ExposureError::Empty));
    }
    let (mut dose, mut total) = (0.0, 0.0);
    for (row, stint) in (1..).zip(stints) {
        LEVEL.check(stint.level).map_err(|error| InRow::of(row, error))?;
        MINUTES.check(stint.minutes).map_err(|error| InRow::of(row, error))?;
        total += stint.minutes;
        if total > MINUTES.most + 1e-9 {
            return Err(InRow::of(row, ExposureError::LongerThanADay(total)));
        }
        dose += stint.level * stint.minutes;
    }
    Ok(dose / SHIFT_MIN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(stints: &[(f64, f64)]) -> Result<f64, InRow<ExposureError>> {
        twa8(&stints.iter().map(|&(level, minutes)| Stint { level, minutes }).collect::<Vec<_>>())
    }

    #[test]
    fn what_has_no_average_is_named() {
        let error = |stints: &[(f64, f64)]| day(stints).unwrap_err().to_string();
        assert_eq!(error(&[]), "no levels were given: at least one level and its minutes are needed");
        assert_eq!(error(&[(1.0, 1.0), (-2.5, 1.0)]), "level -2.5 is outside 0 to 1000000000");
        assert_eq!(error(&[(f64::NAN, 1.0)]), "level not a number is outside 0 to 1000000000");
        assert_eq!(error(&[(1.0, -5.0)]), "minutes -5 is outside 0 to 1440");
        assert_eq!(
            error(&[(1.0, 1000.0), (1.0, 441.0)]),
            "the minutes so far add up to 1441; a day has 1440. Enter one day at a time"
        );
        assert_eq!(day(&[(1.0, 1000.0), (1.0, 441.0)]).unwrap_err().row, Some(2));
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
