//! What should happen: the install sequence as data.
//!
//! A sequence is a TOML file (see `checklists/`) that a crew may copy and edit. [`read`] gives either a
//! [`Sequence`] in which every reference holds, or every mistake in the file.

mod check;
mod model;
mod read;
mod sealing;
pub mod shape;
mod shipped;

pub use model::{
    Ask, AskKind, Authority, Basis, Caution, CautionSum, Document, Hold, LapseTrigger, Limit, PlanShown, Planned,
    Sequence, Stage, Step, SurfaceRow, Tolerance, Window,
};
pub use read::read;
pub use sealing::{LastLight, Sealing};
pub use shipped::{SHIPPED, shipped};

/// The JSON Schema of a sequence file, for editors.
pub fn json_schema() -> serde_json::Value {
    crate::form::schema::of("cladlog install sequence", &shape::SEQUENCE)
}
