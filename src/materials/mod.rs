//! What is bought and how it is cut: the cut plan (C7) and the take-off (C8).

pub mod cuts;
pub mod of_job;
pub mod takeoff;
