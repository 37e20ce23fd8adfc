//! Weather that is foreseen, and the sealing day that is planned by it.

mod alarms;
mod exposures;
mod forecast;
pub mod house;
mod plan;
mod walk;
