//! What should happen: the install sequence as data.
//!
//! A sequence is a TOML file (see `checklists/`) that a crew may copy and edit. [`read`] gives either a
//! [`Sequence`] in which every reference holds, or every mistake in the file.

mod basis;
mod compare;
mod edited;
mod figures;
mod model;
mod names;
mod read;
mod read_step;
mod sealing;
mod shipped;

pub use compare::{EditionChange, PartKind, changes};
pub use figures::{FigureRevised, FiguresInForce};

pub use model::{
    Ask, AskKind, Authority, Basis, Caution, CautionIx, CautionSum, ChoiceBound, CountsFrom, Document, FigureKeys,
    Hold, HoldIx, LapseTrigger, LastLight, Limit, LimitIx, Measure, PlanShown, Planned, Sealing, Sequence, Stage,
    StageIx, Step, StepIx, SurfaceRow, Tolerance, Unless, Which, Window, WindowIx,
};
pub use read::{json_schema, read};
pub use shipped::{SHIPPED, shipped, usual_allowances};
