//! What people ask of the state: what is next, what rings, what is left, what a record did.

mod alarms;
mod edges;
mod effects;
mod exposures;
mod forecast;
mod next;
mod photos;
mod sayings;
mod sealing;
mod stock;
mod windows;

pub use edges::OpenEdge;
pub use effects::{Effects, Mark};
pub use exposures::{HEAT_LIMIT, LIFTING_LIMIT};
pub use next::{Action, next};
pub use photos::{PhotoUse, names_photo, photo_notes, photos};
pub use sayings::{Saying, SayingKind, sayings};
pub use sealing::{ActivePlan, PlannedTask, SealAsk, SealDay, SealError};
pub use stock::{Flag, FlagKind, OrderedVsUsed};
pub use windows::WindowRow;
