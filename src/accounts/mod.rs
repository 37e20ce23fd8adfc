//! What the job took and what it comes to: hours, time lost, pace, the claim.
//!
//! Sums over the record that the rules need not ask for: nothing here stops or opens anything. The arithmetic
//! ([`idle`], [`allot`], [`pace::quartiles`], [`claim::worth`]) knows only moments and numbers; the rest takes it
//! from a [`State`](crate::day::State).

pub mod allot;
pub mod claim;
pub mod hours;
pub mod idle;
pub mod measure;
pub mod pace;
mod stood;
mod work;

pub use claim::{Claim, Line as ClaimLine, Period, claim};
pub use pace::{Pace, pace};
pub use stood::{StoppageCost, StoppageRow, lost_on, shifts, stood};
