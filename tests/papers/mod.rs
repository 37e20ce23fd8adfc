//! The papers that get a crew paid: stoppages, extras, hours, pace, the claim, the evening report, the lists.

mod evening;
mod extras;
mod lists;
pub mod pace;
mod stoppages;
