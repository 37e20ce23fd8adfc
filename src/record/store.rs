//! The SQLite file: opening it, reading entries, the transaction that appends them.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::chain::Heads;
use super::entry::Entry;
use super::error::{BUSY, CUT, StoreError, error_of};
use super::place::{FileId, Place};
use super::query;
use super::schema;
use super::tables::{LogRow, ReadTables, StoredJob};
use super::writing::Writing;
use crate::atomic_file::{Access, AtomicFile, AtomicPath};

/// The smallest page, in bytes; no database is smaller.
const LEAST_PAGE: u64 = 512;

/// An open file.
pub struct Store {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    place: Place,
}

impl Store {
    /// Opens a file for reading; it must be there.
    ///
    /// # Errors
    /// [`StoreError`]: missing, not ours, newer, damaged.
    pub fn read(path: &Path) -> Result<Self, StoreError> {
        if !path.exists() {
            return Err(StoreError::Missing(path.to_owned()));
        }
        // SQLite would take it for an empty database and remove the log beside it.
        if std::fs::metadata(path).is_ok_and(|data| data.is_file() && data.len() < LEAST_PAGE) {
            return Err(StoreError::NotOurs(path.to_owned()));
        }
        // A WAL file is read through a shared-memory file beside it, so even a reader wants to write there.
        // On a disk that can't be written nobody else writes either: then SQLite may take it as it stands.
        let attempts = [
            (path.to_string_lossy().into_owned(), OpenFlags::SQLITE_OPEN_READ_WRITE),
            (path.to_string_lossy().into_owned(), OpenFlags::SQLITE_OPEN_READ_ONLY),
            (immutable_uri(path), OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI),
        ];
        // As it stands is without its log. Whoever was killed may have left acknowledged entries there.
        let attempts = &attempts[..if has_log(path) { 2 } else { 3 }];
        let (mut error, file) = (None, FileId::at(path));
        for (name, flags) in attempts {
            let opened = Connection::open_with_flags(name, *flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
                .and_then(|connection| {
                    configure(&connection)?;
                    Ok(connection)
                })
                .map_err(|error| error_of(path, &error))
                .and_then(|connection| {
                    check_ours(&connection, path)?;
                    let place = Place::new(path, file.clone(), &connection);
                    Ok(Self { connection, path: path.to_owned(), place })
                });
            match opened {
                Ok(store) => return Ok(store),
                // Only a want of access is worth another try.
                Err(found @ (StoreError::ReadOnly { .. } | StoreError::Failed { .. })) => {
                    error.get_or_insert(found);
                }
                Err(other) => return Err(other),
            }
        }
        Err(match error {
            Some(StoreError::ReadOnly { path, .. }) if has_log(&path) && std::fs::File::open(&path).is_ok() => {
                StoreError::LogOutOfReach(path)
            }
            Some(StoreError::ReadOnly { path, why }) => StoreError::Unread { path, why },
            Some(other) => other,
            None => StoreError::Missing(path.to_owned()),
        })
    }

    /// Opens a file for writing; it must be there. An older file is brought up to date.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn write_to(path: &Path) -> Result<Self, StoreError> {
        if !path.exists() {
            return Err(StoreError::Missing(path.to_owned()));
        }
        let mut store = Self::open(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        let version = check_ours(&store.connection, path)?;
        if version < schema::newest() {
            schema::migrate(&mut store.connection).map_err(|error| error_of(path, &error))?;
            store.place.remember(&store.connection);
        }
        Ok(store)
    }

    /// Opens a file for writing and makes it when it is not there, private to the user where the system can.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn create(path: &Path) -> Result<Self, StoreError> {
        let empty = std::fs::metadata(path).is_ok_and(|data| data.is_file() && data.len() == 0);
        if path.exists() && !empty {
            return Self::write_to(path);
        }
        private_file(path).map_err(|error| StoreError::ReadOnly { path: path.to_owned(), why: error.to_string() })?;
        let mut store = Self::open(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        schema::migrate(&mut store.connection).map_err(|error| error_of(path, &error))?;
        store.place.remember(&store.connection);
        Ok(store)
    }

    fn open(path: &Path, flags: OpenFlags) -> Result<Self, StoreError> {
        let opened = || -> rusqlite::Result<Connection> {
            let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
            configure(&connection)?;
            // Write-ahead log: readers (watch) and the writer (walk) don't block each other. It needs
            // shared memory, so the file must lie on a local disk, not on a network folder.
            connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
            // FULL: the log is flushed at every commit, so that what was acknowledged survives a power cut.
            connection.pragma_update(None, "synchronous", "FULL")?;
            Ok(connection)
        };
        let file = FileId::at(path);
        let connection = opened().map_err(|error| error_of(path, &error))?;
        let place = Place::new(path, file, &connection);
        Ok(Self { connection, path: path.to_owned(), place })
    }

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

    /// Copies the file while others may write to it, by SQLite's online backup; never over a file that is there.
    ///
    /// # Errors
    /// [`StoreError`]; nothing is left behind under `target` when it fails half-way.
    pub fn backup(&self, target: &Path) -> Result<(), StoreError> {
        let unwritten =
            |error: std::io::Error| StoreError::ReadOnly { path: target.to_owned(), why: error.to_string() };
        self.copy_beside(target)?.commit_new().map_err(unwritten)
    }

    /// A whole copy of the file beside `target`, not named yet.
    pub(super) fn copy_beside(&self, target: &Path) -> Result<AtomicPath, StoreError> {
        let unwritten =
            |error: std::io::Error| StoreError::ReadOnly { path: target.to_owned(), why: error.to_string() };
        let file = AtomicFile::create(target, Access::Private).map_err(unwritten)?.into_path();
        let copied = || -> rusqlite::Result<()> {
            let mut copy = Connection::open(file.path())?;
            let backup = rusqlite::backup::Backup::new(&self.connection, &mut copy)?;
            // All pages in one step: it reads one moment of the file, writers go on, and it can never be outrun by them.
            backup.run_to_completion(i32::MAX, Duration::from_millis(5), None)
        };
        copied().map_err(|error| error_of(target, &error))?;
        Ok(file)
    }
}

/// What every connection is set to.
fn configure(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(BUSY)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // A plan that was made stays, whatever is bound to it: else SQLite plans the same query again at every append.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    // Read the header now: a file that is no database says so here, not in the middle of the work.
    connection.query_row("PRAGMA schema_version", [], |_| Ok(()))
}

/// Insists that the file is ours and not newer than we know; gives its version.
pub(super) fn check_ours(connection: &Connection, path: &Path) -> Result<i64, StoreError> {
    let pragma = |name: &str| -> Result<i64, StoreError> {
        connection.query_row(&format!("PRAGMA {name}"), [], |row| row.get(0)).map_err(|error| error_of(path, &error))
    };
    if pragma("application_id")? != i64::from(schema::APPLICATION_ID) {
        return Err(StoreError::NotOurs(path.to_owned()));
    }
    let version = pragma("user_version")?;
    if version > schema::newest() {
        return Err(StoreError::Newer { path: path.to_owned(), version, known: schema::newest() });
    }
    // A file that was cut short is told at once, even where what is asked for lies before the cut.
    let whole = pragma("page_count")?.saturating_mul(pragma("page_size")?);
    if !has_log(path)
        && std::fs::metadata(path).is_ok_and(|data| i64::try_from(data.len()).is_ok_and(|len| len < whole))
    {
        return Err(StoreError::Failed { path: path.to_owned(), why: CUT.into() });
    }
    Ok(version)
}

/// Whether part of the file may lie in the write-ahead log beside it.
fn has_log(path: &Path) -> bool {
    let mut log = path.as_os_str().to_os_string();
    log.push("-wal");
    std::fs::metadata(PathBuf::from(log)).is_ok_and(|data| data.len() > 0)
}

fn immutable_uri(path: &Path) -> String {
    let mut uri = String::from("file:");
    for byte in path.to_string_lossy().bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' | b':' => uri.push(char::from(byte)),
            b'\\' => uri.push('/'),
            other => uri.push_str(&format!("%{other:02X}")),
        }
    }
    uri.push_str("?immutable=1");
    uri
}

/// Makes an empty file that only the user can read: names and hours of people stand in it.
fn private_file(path: &Path) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path).map(|_| ())
}
