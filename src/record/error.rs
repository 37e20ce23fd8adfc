//! Why a file could not be used.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::ErrorCode;

/// How long one program waits for another that is writing. An append takes milliseconds; whoever
/// holds the lock for this long is stuck, and the person should hear of it.
pub(super) const BUSY: Duration = Duration::from_secs(20);

pub(super) const CUT: &str = "the file is damaged or cut short: restore it from a backup";

/// Why the file could not be used.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no such file.
    #[error("{}: there is no such database", .0.display())]
    Missing(PathBuf),
    /// It is something else.
    #[error("{}: is not a cladlog database", .0.display())]
    NotOurs(PathBuf),
    /// Its tables or triggers are not those that the program makes.
    #[error("{}: its tables or triggers are not those that cladlog makes: somebody altered them", .0.display())]
    Altered(PathBuf),
    /// A newer program wrote it.
    #[error("{}: was written by a newer cladlog (file version {version}, this program knows {known})", .path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        version: i64,
        /// The newest that we know.
        known: i64,
    },
    /// Another file was put in its place, it was removed, or something else wrote over it, while it was open.
    #[error("{}: the file was replaced, removed or written over while it was open", .0.display())]
    Replaced(PathBuf),
    /// What was read from it before is no longer there, or bears other numbers.
    #[error("{}: its record has changed since it was read", .0.display())]
    Diverged(PathBuf),
    /// Another program holds it.
    #[error("{}: another program is writing to it and did not finish within {} s", .0.display(), BUSY.as_secs())]
    Busy(PathBuf),
    /// Another program has it open that must not.
    #[error("{}: another program has it open", .0.display())]
    InUse(PathBuf),
    /// It can't be written.
    #[error("{}: can't be written: {why}", .path.display())]
    ReadOnly {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: String,
    },
    /// It can't be read.
    #[error("{}: can't be read: {why}", .path.display())]
    Unread {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: String,
    },
    /// A writer that was ended suddenly left part of the record in the log beside the file, and here it can't be read.
    #[error("{}: part of the record lies in {}-wal, which can't be read without writing beside it", .0.display(), .0.display())]
    LogOutOfReach(PathBuf),
    /// An entry does not hold.
    #[error("{}: the record is damaged at entry {id}: {what}", .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The entry.
        id: String,
        /// What is wrong.
        what: String,
    },
    /// Anything else that SQLite reports.
    #[error("{}: {why}", .path.display())]
    Failed {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: String,
    },
}

pub(super) fn error_of(path: &Path, error: &rusqlite::Error) -> StoreError {
    let path = path.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreError::NotOurs(path),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy(path),
        Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
            StoreError::ReadOnly { path, why: error.to_string() }
        }
        Some(ErrorCode::DatabaseCorrupt) => StoreError::Failed { path, why: CUT.into() },
        Some(ErrorCode::DiskFull) => StoreError::Failed { path, why: "the disk is full: nothing was written".into() },
        _ => StoreError::Failed { path, why: error.to_string() },
    }
}
