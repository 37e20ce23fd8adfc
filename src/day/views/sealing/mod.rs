//! The sealing day of a job: what the seal plan (C12) is made from, and how far the day has come by the plan that is kept.
//!
//! [`State::seal_day`](crate::day::state::State::seal_day) gathers the day from the job, the record and the forecast; the
//! plan itself is made in [`crate::sealing::plan`]. What is kept is read back as a
//! [`SealPlan`](crate::day::facts::SealPlan), and `State::active_plan` says what it asks for next and whether the day has
//! slipped. The plan never lets anything pass that a rule stops.

mod day;
mod follow;
mod made;

pub use day::{SealAsk, SealDay, SealError};
pub use follow::{ActivePlan, PlannedTask, Slip};
pub use made::{LONGEST_SEARCH, Planned, planned};
