//! The only place that asks the time.

use chrono::Utc;

use super::Failure;
use crate::moment::Moment;

/// The variable that sets the clock for rehearsals and tests.
pub const CLOCK_VARIABLE: &str = "CLADLOG_CLOCK";

/// Where the time comes from.
#[derive(Debug, Clone, Copy)]
pub enum Clock {
    /// The machine's own.
    Machine,
    /// Standing still, for a rehearsal.
    Set(Moment),
}

impl Clock {
    /// The machine's clock, or the one that `CLADLOG_CLOCK` sets.
    ///
    /// # Errors
    /// [`Failure::Input`] when the variable is not an RFC 3339 time.
    pub fn from_environment() -> Result<Self, Failure> {
        match std::env::var(CLOCK_VARIABLE) {
            Err(_) => Ok(Self::Machine),
            Ok(text) => {
                Moment::parse_from_rfc3339(text.trim()).ok().filter(|at| at.in_range()).map(Self::Set).ok_or_else(
                    || {
                        Failure::input(format!(
                            "{CLOCK_VARIABLE} is not an RFC 3339 time of the years 1970 to 8999: {}",
                            crate::units::number::shortened(&text)
                        ))
                    },
                )
            }
        }
    }

    /// Now.
    #[allow(clippy::disallowed_methods, reason = "the one place that asks")]
    pub fn now(self) -> Moment {
        match self {
            Self::Machine => Utc::now().into(),
            Self::Set(at) => at,
        }
    }

    /// Whether this is a rehearsal.
    pub fn is_rehearsal(self) -> bool {
        matches!(self, Self::Set(_))
    }
}
