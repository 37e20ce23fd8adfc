//! Makes the plan: bounds and a large-neighbourhood search.

mod bounds;
mod insertion;
mod planner;
mod problem;
mod reasons;
mod rota;
mod search;

pub use planner::{Effort, plan};
