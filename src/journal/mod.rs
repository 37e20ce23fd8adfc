//! The journal: the transaction in which something is recorded. Whoever records goes through it: the command line, the
//! walk, a program that uses the library.
//!
//! A [`Journal`] holds an open file and the book of one job in it. [`Journal::record`] reads what others filed meanwhile,
//! decides the request by the rules, appends what it comes to, brings the read tables along, and commits: what it gives
//! back is durable.

mod command;
mod error;
#[allow(clippy::module_inception, reason = "the journal itself, beside what it gives back")]
mod journal;
mod merge;
mod recorded;
mod rescue;
mod sent;
mod sentences;
mod undo;
#[cfg(test)]
mod work_tests;

pub use command::Sent;
pub use error::{JournalError, Rescued};
pub use journal::{Journal, NewJob, Timed, rebuild};
pub use merge::{Merged, check_fits, merge};
pub use recorded::{Recorded, RecordedEntry, Warning, WarningKind};
pub use rescue::rescue;
pub use sent::Answer;
pub use sentences::{deed, recorded_lines};
pub use undo::Undo;
