//! Makes the plan: bounds, a large-neighbourhood search, and every plan there is on days of a few joints.

mod bounds;
mod exact;
mod insertion;
mod planner;
mod problem;
mod reasons;
mod rota;
mod search;

pub use planner::{Effort, plan};
