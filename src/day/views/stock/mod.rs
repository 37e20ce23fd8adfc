//! The stock: what is still needed, what to know of it, and what was ordered against what was used.
//!
//! Everything is worked out from the record each time, so that a struck delivery or use gives its count back.

mod compared;
mod flags;
mod needed;

pub use compared::OrderedVsUsed;
pub use flags::{Flag, FlagKind, SecondBatch};
