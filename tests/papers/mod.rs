//! The papers that get a crew paid: stoppages, extras, hours, pace, the claim, the evening report, the lists.

mod extras;
mod stoppages;
