//! What each kind of entry says.
//!
//! A struct of these files is one thing in three places: the arguments of the command, the request that is decided, and
//! the body that is recorded. In a request the subject is SUBJECT as typed, which may be a list or a range (`N/J1..6`);
//! deciding it gives one body a subject. The names of the fields are hashed with every entry: add, never rename.

mod day;
mod holds;
mod job;
mod stock;
mod stoppages;
mod trust;
mod weather;
mod work;

pub use day::{AcknowledgeCaution, CloseDay, JoinDay, LeaveDay, OpenDay};
pub use holds::{AskRelease, CloseDefect, ConcedeDefect, OpenDefect, RefuseHold, ReleaseHold};
pub use job::{AddPerson, AdoptSequence, ReviseJob, SetUpJob};
pub use stock::{DeliverBatch, StockUse, TakeStock};
pub use stoppages::{AddExtra, EndStoppage, StartStoppage};
pub use trust::{ConfirmSaying, Confirmed, ForgetPhone, PairPhone, Strike, TakeStamp, UseKey};
pub use weather::{AddForecast, TakeReading};
pub use work::{AddNote, AddPhoto, KeepPlan, StepDone, StoppedBy};
