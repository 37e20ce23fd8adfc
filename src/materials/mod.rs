//! What is bought and how it is cut: the cut plan (C7), the take-off (C8), and what comes in batches.

pub mod allowances;
pub mod cuts;
mod fixings;
pub mod of_job;
pub mod product;
pub mod runs;
pub mod takeoff;
mod wall_runs;
pub mod wrap;
