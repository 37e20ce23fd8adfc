//! What people ask of the state: what is next, what rings, what is left, what a record did.

mod alarms;
mod at_once;
mod coming;
mod edges;
mod effects;
mod exposures;
mod forecast;
mod held_up;
mod hours;
mod listed;
mod next;
mod photos;
mod questions;
mod sayings;
mod sealing;
mod stamps;
mod stock;
mod tasks;
mod windows;
mod words;

pub use at_once::{InOneGo, missed_at_once, time_before};
pub use coming::{Coming, coming};
pub use edges::OpenEdge;
pub use effects::{Effects, Mark};
pub use exposures::{HEAT_LIMIT, LIFTING_LIMIT};
pub use held_up::{HeldUp, held_up};
pub use hours::{USUAL_HOURS, hours_offered};
pub use listed::{FlagJson, holds_listed, next_listed, stock_ahead, windows_listed};
pub use next::{Action, Urgency, next};
pub use photos::{PhotoUse, names_photo, photo_notes, photos};
pub use questions::{
    basis_words, counts_from_its_beginning, how_typed, is_failing, is_probably_a_slip, judged_words, last_label,
    limit_line, next_checked, offer_words, planned_ask, required_words,
};
pub use sayings::{Saying, SayingKind, sayings};
pub use sealing::{ActivePlan, LONGEST_SEARCH, Planned, PlannedTask, SealAsk, SealDay, SealError, Slip, planned};
pub use stamps::{StampRow, stamps};
pub use stock::{Flag, FlagKind, OrderedVsUsed, SecondBatch};
pub use tasks::{Group, Picking, SealPlanDue, Task, TaskId, WallWork, is_at, keep_recordable};
pub use windows::{WindowRow, WindowsAlike, gathered_windows, running_windows, window_words};
pub use words::{on_words, still_open, text_to_send, the, wall_words};
