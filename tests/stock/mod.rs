//! Batches and stock: counted from the record, traced to the wall, warned of in time.

mod compared;
mod count;
mod pack;
mod properties;
mod rules;
pub mod site;
mod typed;

/// Half past eight on a working day.
pub const MORNING: &str = "2026-03-03T08:30:00+13:00";
