//! Why nothing was recorded.

use std::path::PathBuf;

use crate::day::{DecideError, ReplayError};
use crate::photos::KeptError;
use crate::record::{EntryError, MergeError, StoreError};

/// What became of the entries that were recorded in a file that is no longer at its path.
#[derive(Debug)]
pub enum Rescued {
    /// They were written to this export.
    Saved(PathBuf),
    /// They could not be written.
    Unsaved(std::io::Error),
}

/// Why nothing was recorded.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The file could not be used.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The file was replaced, removed or written over while it was open.
    #[error("{}: the file was replaced, removed or written over while it was open", path.display())]
    Replaced {
        /// The file.
        path: PathBuf,
        /// What became of the entries that were recorded in it.
        rescued: Rescued,
    },
    /// The entries are no job.
    #[error(transparent)]
    Replay(#[from] ReplayError),
    /// A rule stops it, or the request is wrong.
    #[error(transparent)]
    Decide(#[from] DecideError),
    /// A photo could not be kept.
    #[error(transparent)]
    Photo(#[from] KeptError),
    /// An entry has no canonical form.
    #[error(transparent)]
    Entry(#[from] EntryError),
    /// What came from elsewhere is not taken.
    #[error(transparent)]
    Merge(#[from] MergeError),
    /// What came of it can't be written as JSON.
    #[error("what was recorded can't be written: {0}")]
    Unwritten(serde_json::Error),
    /// A phone sent something else under this id before.
    #[error("request {0} was sent before and said something else")]
    Reused(String),
    /// The file already holds a job of this key.
    #[error("job {0} already exists in this database: give the new one another key")]
    JobExists(String),
}
