//! What the job took: hours, time lost.
//!
//! Sums over the record that rules need not ask for: nothing here stops or opens anything. The arithmetic
//! ([`idle`]) knows only moments and numbers; the rest takes it from a [`State`](crate::day::State).

pub mod idle;
mod stood;

pub use stood::{Stood, shifts, stood};
