//! The SQLite file while it is open, and copies of it.

use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;

use super::error::{StoreError, error_of};
use super::home;
use super::place::Place;
use crate::atomic_file::{Access, AtomicFile};

/// An open file.
pub struct Store {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    pub(super) place: Place,
    /// Whether something was written, so that the file knows where it lies.
    pub(super) awake: bool,
    /// Whether the log holds what was appended and not carried into the file.
    pub(super) ahead: Cell<bool>,
}

impl Store {
    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A number that is another one after any other program wrote to the file: cheaper than reading it anew.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn data_version(&self) -> Result<i64, StoreError> {
        self.ask(|file| file.query_row("PRAGMA data_version", [], |row| row.get(0)))
    }

    /// Insists that the file at the path is still the one that is open, and that no other program wrote over it.
    ///
    /// # Errors
    /// [`StoreError::Replaced`].
    pub fn in_place(&self) -> Result<(), StoreError> {
        // What lies there now is nothing to carry anything into.
        self.place.check(&self.connection).inspect_err(|_| self.ahead.set(false))
    }

    /// Asks the file something; a failure names the file.
    pub(super) fn ask<T>(&self, work: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T, StoreError> {
        work(&self.connection).map_err(|error| error_of(&self.path, &error))
    }

    /// Begins a copy of the file, whole and of one moment, while others may write to it (SQLite's online backup). It is
    /// named by [`AtomicFile::commit_new`], once all that goes with it is there.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is left behind.
    pub fn backup(&self, target: &Path) -> Result<AtomicFile, StoreError> {
        let file = AtomicFile::create(target, Access::Private).map_err(unwritten(target))?;
        let copied = || -> rusqlite::Result<()> {
            let mut copy = Connection::open(file.path())?;
            let backup = rusqlite::backup::Backup::new(&self.connection, &mut copy)?;
            // All pages in one step: it reads one moment of the file, writers go on, and it can never be outrun by them.
            backup.run_to_completion(i32::MAX, Duration::from_millis(5), None)?;
            drop(backup);
            home::leave(&copy)
        };
        copied().map_err(|error| error_of(target, &error))?;
        Ok(file)
    }
}

/// The error of a file that can't be written.
pub(super) fn unwritten(path: &Path) -> impl Fn(std::io::Error) -> StoreError {
    let path = path.to_owned();
    move |error| StoreError::ReadOnly { path: path.clone(), why: error.to_string() }
}
