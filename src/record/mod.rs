//! What did happen: the append-only record of a job in SQLite.
//!
//! An [`Entry`] is never changed: it is written once as canonical JSON, hashed, and chained to the entry
//! before it on the same device. Everything else in the file can be rebuilt from the entries.

mod about;
mod body;
mod chain;
mod checking;
mod entry;
mod line;
mod merge;
mod rates;
mod reading;
mod schema;
mod store;
mod words;
mod writing;

pub use body::{Answer, Body};
pub use chain::{ChainError, Heads, Link, check_chain, check_chain_after};
pub use entry::{Draft, Entry, EntryError, FORMAT_VERSION, LATE_AFTER_MIN, NO_PREVIOUS, in_order, jsonl};
pub use line::LineError;
pub use merge::{MergeError, added, devices_of, read_jsonl, sound};
pub use store::{DefectRow, HoldRow, LogRow, ReadSide, Store, StoreError, StoredJob};
pub use writing::Writing;
