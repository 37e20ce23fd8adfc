//! The cut plan (C7) and the take-off (C8).

mod cli;
mod cuts;
mod job;
pub mod lists;
mod packed;
mod takeoff;
mod walls;
