//! A copy of one file put in the place of another that nobody has open; what was there is kept beside it.

use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::error::{StoreError, error_of};
use super::opening::check_ours;
use super::store::{Store, unwritten};
use crate::atomic_file::{resolved, with_ending};

/// Endings of what SQLite keeps beside a file that was not closed.
const BESIDE: [&str; 2] = ["-wal", "-shm"];

impl Store {
    /// Puts a copy of this file at `target`. What was there, log and all, is kept beside it under the name that is given
    /// back; nobody may have it open.
    ///
    /// # Errors
    /// [`StoreError::InUse`] when another program has `target` open, [`StoreError::NotOurs`] when it is a database of
    /// something else, or what the disk says; `target` is as it was then.
    pub fn restore_to(&self, target: &Path) -> Result<Option<PathBuf>, StoreError> {
        let target = &resolved(target);
        let copy = self.backup(target)?;
        let lock = lock(target)?;
        // Windows renames no file that is open.
        #[cfg(not(unix))]
        drop(lock);
        let kept = set_aside(target).map_err(unwritten(target))?;
        copy.commit().map_err(unwritten(target))?;
        #[cfg(unix)]
        drop(lock);
        Ok(kept)
    }
}

/// Takes a file for this program alone, its log carried into it. A damaged one can't be locked, nor used by anybody.
fn lock(target: &Path) -> Result<Option<Connection>, StoreError> {
    // SQLite would take what is too short for an empty database, and remove its log.
    let mut head = [0; 16];
    let begins = std::fs::File::open(target).and_then(|mut file| file.read_exact(&mut head));
    if begins.is_err() || head != *b"SQLite format 3\0" {
        return Ok(None);
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let locked = || -> rusqlite::Result<Connection> {
        let connection = Connection::open_with_flags(target, flags)?;
        connection.busy_timeout(Duration::ZERO)?;
        connection.query_row("PRAGMA schema_version", [], |_| Ok(()))?;
        Ok(connection)
    };
    let damaged = |error: &rusqlite::Error| {
        matches!(error.sqlite_error_code(), Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt))
    };
    let in_use = |error: rusqlite::Error| match error_of(target, &error) {
        StoreError::Busy(path) => StoreError::InUse(path),
        other => other,
    };
    let connection = match locked() {
        Ok(connection) => connection,
        Err(error) if damaged(&error) => return Ok(None),
        Err(error) => return Err(in_use(error)),
    };
    // A file that is newer, altered or cut short may well be what is to be replaced; one of something else is not.
    if let Err(error @ StoreError::NotOurs(_)) = check_ours(&connection, target) {
        return Err(error);
    }
    // Leaving the log behind asks for the file alone, and leaves one whole file to keep.
    let alone = connection
        .query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))
        .and_then(|()| connection.execute_batch("BEGIN EXCLUSIVE"));
    match alone {
        Ok(()) => Ok(Some(connection)),
        Err(error) if damaged(&error) => Ok(None),
        Err(error) => Err(in_use(error)),
    }
}

/// Gives what is at a path another name beside it; the path itself stays taken where the disk knows second names.
fn set_aside(target: &Path) -> std::io::Result<Option<PathBuf>> {
    let there = |path: &Path| std::fs::symlink_metadata(path).is_ok();
    let left: Vec<&str> = BESIDE.into_iter().filter(|ending| there(&with_ending(target, ending))).collect();
    if !there(target) && left.is_empty() {
        return Ok(None);
    }
    let mut names = (1..).map(|number| match number {
        1 => with_ending(target, ".before-restore"),
        number => with_ending(target, &format!(".before-restore-{number}")),
    });
    let free = |name: &PathBuf| !there(name) && BESIDE.iter().all(|ending| !there(&with_ending(name, ending)));
    let kept = names.find(free).ok_or(ErrorKind::AlreadyExists)?;
    if there(target) && std::fs::hard_link(target, &kept).is_err() {
        std::fs::rename(target, &kept)?;
    }
    for ending in left {
        std::fs::rename(with_ending(target, ending), with_ending(&kept, ending))?;
    }
    Ok(Some(kept))
}
