//! What did happen: the append-only record of a job in SQLite.
//!
//! An [`Entry`] is never changed: it is written once as canonical JSON, hashed, and chained to the entry
//! before it on the same device. Everything else in the file can be rebuilt from the entries.

mod answer;
mod body;
mod chain;
mod checking;
mod entry;
mod error;
mod fork;
mod home;
mod id;
mod kinds;
mod line;
mod merge;
mod opening;
mod place;
mod query;
mod rates;
mod restore;
mod rows;
mod schema;
mod store;
mod tables;
mod words;
mod writing;

pub use answer::Answer;
pub use body::Body;
pub use chain::{ChainError, Heads, Link, check_chain, check_chain_after};
pub use entry::{Draft, Entry, EntryError, FORMAT_VERSION, HEAD_DIGITS, LATE_AFTER_MIN, NO_PREVIOUS, in_order, jsonl};
pub use error::StoreError;
pub use fork::{Fork, assign_books, fork_name, forks};
pub use id::{Cause, DefectId, EntryId, EntryRun, IdError, crew, new_device, origin};
pub use kinds::{
    AcknowledgeCaution, AddExtra, AddForecast, AddNote, AddPerson, AddPhoto, AdoptSequence, AskRelease, CloseDay,
    CloseDefect, ConcedeDefect, ConfirmSaying, Confirmed, DeliverBatch, EndStoppage, ForgetPhone, JoinDay, KeepPlan,
    LeaveDay, OpenDay, OpenDefect, PairPhone, RefuseHold, ReleaseHold, ReviseJob, SetUpJob, StartStoppage, StepDone,
    StockUse, StoppedBy, Strike, TakeReading, TakeStamp, TakeStock, UseKey,
};
pub use line::{LineError, lines};
pub use merge::{MergeError, United, devices_of, read_jsonl, sound, unite};
pub use store::Store;
pub use tables::{CommandRow, DefectRow, HoldRow, LogRow, ReadTables, SentRow, StoredJob};
pub use writing::Writing;
