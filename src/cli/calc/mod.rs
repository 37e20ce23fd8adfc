//! `cladlog calc`: the sums, standalone.

mod boards;
mod columns;
mod command;
mod courses;
mod cut_options;
mod cuts;
mod cuts_job;
mod dew;
mod exposure;
mod framer;
mod joint;
mod outcome;
mod packing;
mod packing_asked;
mod panels;
mod rows;
mod sealplan;
mod square;
mod starter;
mod sun;
mod takeoff;

pub use command::{CalcCommand, run};
