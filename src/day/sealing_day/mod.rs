//! The sealing day of a job: what the seal plan (C12) is made from, the plan that the record keeps, and how far the
//! day has come by it.
//!
//! [`crate::day::State::seal_day`] gathers the day from the job, the record and the forecast; the plan itself is made in
//! [`crate::sealing::plan`]. What is kept is read back as a [`SealPlan`], and [`crate::day::State::following`] says what it asks
//! for next and whether the day has slipped. The plan never lets anything pass that a rule stops.

mod day;
mod follow;
mod kept;

pub use day::{SealAsk, SealDay, SealError};
pub use follow::{Following, Thing};
pub use kept::{Inputs, JointIn, JointRow, LeftRow, PLAN, SealPlan, Span, Timetable, WallIn};
