//! Sealing the joints: the plan of the sealing day.

pub mod plan;
