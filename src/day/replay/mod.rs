//! From entries to a [`State`](crate::day::state::State).

mod apply;
mod defects;
mod fold;
mod order;
mod releases;
mod steps;

#[cfg(test)]
pub(crate) use fold::FOLDED;
pub(crate) use fold::Past;
pub use fold::{ReplayError, replay};
pub(in crate::day) use fold::{replay_from, replay_without};
pub(in crate::day) use order::{Place, continues, in_time, struck};
