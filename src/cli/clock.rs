//! The only place that asks the time.

use chrono::Utc;

use super::failure::Failure;
use crate::moment::Moment;
use crate::units::number::shortened;

/// The variable that sets the clock for rehearsals and tests.
const CLOCK_VARIABLE: &str = "CLADLOG_CLOCK";

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
    pub fn from_environment() -> Result<Self, Failure> {
        let Ok(text) = std::env::var(CLOCK_VARIABLE) else { return Ok(Self::Machine) };
        let set = Moment::parse_from_rfc3339(text.trim()).ok().filter(|at| at.in_range());
        set.map(Self::Set).ok_or_else(|| {
            let text = shortened(&text);
            Failure::input(format!("{CLOCK_VARIABLE} is not an RFC 3339 time of the years 1970 to 8999: {text}"))
        })
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
