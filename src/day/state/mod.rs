//! What the entries of a job come to, and look-ups in it; no rules.

mod ledger;
mod lengths;
mod offcuts;
mod plans;
mod quantity;
mod revised;
mod set_out;
#[allow(clippy::module_inception, reason = "the state itself, beside its look-ups")]
mod state;

pub use ledger::{BatchLine, Choice, Counted, Ledger, Line, Sums};
pub use offcuts::KeptCuts;
pub use quantity::Takes;
pub use set_out::SetOutError;
pub use state::State;
