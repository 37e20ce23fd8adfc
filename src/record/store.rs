//! The SQLite file: reading entries, the transaction that appends them.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, TransactionBehavior};

use super::chain::Heads;
use super::entry::Entry;
use super::error::{StoreError, error_of};
use super::home;
use super::place::Place;
use super::query;
use super::tables::{LogRow, ReadTables, StoredJob};
use super::writing::Writing;
use crate::atomic_file::{Access, AtomicFile, AtomicPath};

/// An open file.
pub struct Store {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    pub(super) place: Place,
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
        let version = self.connection.query_row("PRAGMA data_version", [], |row| row.get(0));
        version.map_err(|error| error_of(&self.path, &error))
    }

    /// Insists that the file at the path is still the one that is open, and that no other program wrote over it.
    ///
    /// # Errors
    /// [`StoreError::Replaced`].
    pub fn in_place(&self) -> Result<(), StoreError> {
        self.place.check(&self.connection)
    }

    /// The jobs of the file, by key.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn jobs(&self) -> Result<Vec<StoredJob>, StoreError> {
        query::jobs(&self.connection).map_err(|error| error_of(&self.path, &error))
    }

    /// The entries of a job, each checked against its hash and its chain, in the order of
    /// [`in_order`](super::in_order).
    ///
    /// # Errors
    /// [`StoreError::Damaged`] naming the first entry that does not hold.
    pub fn entries(&self, job: &str) -> Result<Vec<Entry>, StoreError> {
        self.entries_after(job, &Heads::new())
    }

    /// The entries of a job that came after `heads`, checked, and against the chains that end there.
    ///
    /// # Errors
    /// As [`Store::entries`]; also when what `heads` ends with is no longer in the file.
    pub fn entries_after(&self, job: &str, heads: &Heads) -> Result<Vec<Entry>, StoreError> {
        query::entries_after(&self.connection, &self.path, job, heads)
    }

    /// The newest lines of the log of a job, oldest first; all of them without a limit.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn log(&self, job: &str, limit: Option<u32>) -> Result<Vec<LogRow>, StoreError> {
        query::log(&self.connection, &self.path, job, limit)
    }

    /// The read tables of a job, to be compared with what its entries come to.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn read_tables(&self, job: &str) -> Result<ReadTables, StoreError> {
        query::read_tables(&self.connection, job).map_err(|error| error_of(&self.path, &error))
    }

    /// Runs `work` in one transaction that no other writer can enter; commits when it succeeds.
    ///
    /// What it appended is durable when this returns, in the file that the path leads to.
    ///
    /// # Errors
    /// Whatever `work` gives, after rolling back; or [`StoreError`] turned into it. [`StoreError::Replaced`] may come
    /// after the commit, where the file was replaced in that moment.
    pub fn write<T, E: From<StoreError>>(
        &mut self,
        work: impl FnOnce(&mut Writing<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let path = self.path.clone();
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|error| error_of(&path, &error))?;
        // Nobody else can write now, so that two readings of the file must agree.
        self.place.check(&transaction)?;
        home::wake(&transaction, &path).map_err(|error| error_of(&path, &error))?;
        let mut writing = Writing::new(&transaction, &path);
        let value = work(&mut writing)?;
        transaction.commit().map_err(|error| error_of(&path, &error))?;
        // Carried into the file at once, so that whoever copies the file alone has all of it. Where a reader is in the
        // way, the next commit does it.
        let _ = self.connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(()));
        if !self.place.leads_there() {
            return Err(self.place.let_go(&self.connection).into());
        }
        self.place.remember(&self.connection);
        Ok(value)
    }

    /// Begins a copy of the file, whole and of one moment, while others may write to it (SQLite's online backup). It is
    /// named by [`Backup::commit`], once all that goes with it is there.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is left behind.
    pub fn backup(&self, target: &Path) -> Result<Backup, StoreError> {
        let file = AtomicFile::create(target, Access::Private).map_err(unwritten(target))?.into_path();
        let copied = || -> rusqlite::Result<()> {
            let mut copy = Connection::open(file.path())?;
            let backup = rusqlite::backup::Backup::new(&self.connection, &mut copy)?;
            // All pages in one step: it reads one moment of the file, writers go on, and it can never be outrun by them.
            backup.run_to_completion(i32::MAX, Duration::from_millis(5), None)?;
            drop(backup);
            home::leave(&copy)
        };
        copied().map_err(|error| error_of(target, &error))?;
        Ok(Backup { file, target: target.to_owned() })
    }
}

/// A whole copy of a file that has no name yet. Dropped, it leaves nothing behind.
#[derive(Debug)]
pub struct Backup {
    file: AtomicPath,
    target: PathBuf,
}

impl Backup {
    /// Gives the copy its name, never over a file that is there. Once this returns, it survives a power cut.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn commit(self) -> Result<(), StoreError> {
        self.file.commit_new().map_err(unwritten(&self.target))
    }

    /// The same over a file that is there.
    pub(super) fn replace(self) -> Result<(), StoreError> {
        self.file.commit().map_err(unwritten(&self.target))
    }
}

pub(super) fn unwritten(path: &Path) -> impl Fn(std::io::Error) -> StoreError {
    let path = path.to_owned();
    move |error| StoreError::ReadOnly { path: path.clone(), why: error.to_string() }
}
