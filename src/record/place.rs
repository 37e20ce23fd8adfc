//! Whether the file at a path is still the one that was opened. A sync program or a restore may put another there, or
//! write over it; what is recorded after that would go where nobody finds it, or ruin both.

use std::cell::Cell;
use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use rusqlite::Connection;
use rusqlite::config::DbConfig;

use super::error::{StoreError, error_of};
use crate::atomic_file::with_ending;

/// How often two readings are compared while others record.
const TRIES: usize = 5;

/// What a file is known by, whatever it is called.
///
/// Windows gives neither number without opening the file; there the system itself refuses to rename, remove or replace
/// a database that is open, and the time of making is what is left to compare.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FileId {
    /// Device and inode.
    number: Option<(u64, u64)>,
    born: Option<SystemTime>,
}

impl FileId {
    fn of(data: &Metadata) -> Self {
        #[cfg(unix)]
        let number = {
            use std::os::unix::fs::MetadataExt;
            Some((data.dev(), data.ino()))
        };
        #[cfg(not(unix))]
        let number = None;
        Self { number, born: data.created().ok() }
    }

    pub(super) fn at(path: &Path) -> Option<Self> {
        std::fs::metadata(path).ok().map(|data| Self::of(&data))
    }
}

/// The place of an open file.
#[derive(Debug)]
pub(super) struct Place {
    /// As it was given: what a link leads to may change as well.
    path: PathBuf,
    log_path: PathBuf,
    file: Option<FileId>,
    /// The write-ahead log: while the file is open nobody but a stranger removes it.
    log: Option<FileId>,
    /// How the file itself was last seen written, and by how many commits of others.
    written: Cell<Option<Written>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Written {
    at: Option<SystemTime>,
    length: u64,
    commits: i64,
}

impl Place {
    /// The place of a file; `file` is what was there before it was opened.
    pub(super) fn new(path: &Path, real: &Path, file: Option<FileId>) -> Self {
        let log_path = with_ending(real, "-wal");
        let (path, log) = (path.to_owned(), FileId::at(&log_path));
        Self { path, log_path, file, log, written: Cell::new(None) }
    }

    /// Takes the file as it lies there now for its own.
    pub(super) fn remember(&self, connection: &Connection) {
        self.written.set(self.look(connection));
    }

    fn look(&self, connection: &Connection) -> Option<Written> {
        let data = std::fs::metadata(&self.path).ok()?;
        let commits = connection.query_row("PRAGMA data_version", [], |row| row.get(0)).ok()?;
        Some(Written { at: data.modified().ok(), length: data.len(), commits })
    }

    /// Whether the path still leads to the file and the log that are open.
    pub(super) fn leads_there(&self) -> bool {
        // A log that was not there when the file was opened may come.
        FileId::at(&self.path) == self.file && (self.log.is_none() || FileId::at(&self.log_path) == self.log)
    }

    /// Insists that the path still leads to the open file, and that nobody but SQLite wrote to it.
    pub(super) fn check(&self, connection: &Connection) -> Result<(), StoreError> {
        if !self.leads_there() {
            return Err(self.let_go(connection));
        }
        let (now, before) = (self.look(connection), self.written.get());
        // What a commit explains needs no closer look: most checks end here.
        let explained = match (now, before) {
            (None, _) => false,
            // Opened just now: what was read is what lies there.
            (Some(_), None) => true,
            (Some(now), Some(before)) => {
                (now.at, now.length) == (before.at, before.length) || now.commits != before.commits
            }
        };
        if !explained && !self.reads_alike(connection)? {
            return Err(self.let_go(connection));
        }
        self.written.set(now);
        Ok(())
    }

    /// Keeps what this connection has in its log out of the file that lies there now, which another program may have
    /// open; gives the error.
    pub(super) fn let_go(&self, connection: &Connection) -> StoreError {
        // On closing, SQLite would carry the log into its file and remove whatever log is at the path.
        let left = connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true);
        if left.is_ok() && self.log.is_some() && FileId::at(&self.log_path) == self.log {
            // Nothing more can be done where it can't be removed.
            let _ = std::fs::remove_file(&self.log_path);
        }
        StoreError::Replaced(self.path.clone())
    }

    /// Whether what lies there, opened anew, is what this connection has in hand.
    fn reads_alike(&self, connection: &Connection) -> Result<bool, StoreError> {
        let failed = |error: rusqlite::Error| error_of(&self.path, &error);
        // Never through a plain file: closing one would drop the locks that SQLite holds on it.
        let fresh = Connection::open_with_flags(
            &self.path,
            rusqlite::OpenFlags::SQLITE_OPEN_READ_WRITE | rusqlite::OpenFlags::SQLITE_OPEN_NO_MUTEX,
        );
        let Ok(fresh) = fresh else { return Ok(false) };
        fresh.busy_timeout(super::error::BUSY).map_err(failed)?;
        let whole = fresh.query_row("PRAGMA integrity_check(1)", [], |row| row.get::<_, String>(0));
        if !whole.is_ok_and(|found| found == "ok") {
            return Ok(false);
        }
        for _ in 0..TRIES {
            let (Ok(there), Ok(here)) = (last(&fresh), last(connection)) else { return Ok(false) };
            if there == here {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// How many entries there are, and the hash of the one that was filed last.
fn last(connection: &Connection) -> rusqlite::Result<(i64, String)> {
    connection.query_row(
        "SELECT count(*), coalesce((SELECT hash FROM entry ORDER BY place DESC LIMIT 1), '') FROM entry",
        [],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )
}
