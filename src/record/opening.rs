//! Opening the SQLite file: for reading, for writing, a new one. What is not ours is not touched, and what somebody altered
//! is not trusted.

use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use super::error::{BUSY, CUT, StoreError, error_of};
use super::place::{FileId, Place};
use super::schema;
use super::store::{Store, unwritten};
use crate::atomic_file::{resolved, with_ending};

/// The smallest page, in bytes; no database is smaller.
const LEAST_PAGE: u64 = 512;

impl Store {
    /// Opens a file for reading; it must be there. Nothing of it is changed, nor of the log that a writer left beside it.
    ///
    /// # Errors
    /// [`StoreError`]: missing, not ours, newer, altered, damaged.
    pub fn read(path: &Path) -> Result<Self, StoreError> {
        let real = &resolved(path);
        is_there(path, LEAST_PAGE)?;
        // A WAL file is read through a shared-memory file beside it, so even a reader wants to write there.
        // On a disk that can't be written nobody else writes either: then SQLite may take it as it stands.
        let attempts = [
            (real.clone(), OpenFlags::SQLITE_OPEN_READ_WRITE),
            (real.clone(), OpenFlags::SQLITE_OPEN_READ_ONLY),
            (immutable_uri(real).into(), OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI),
        ];
        // As it stands is without its log. Whoever was killed may have left acknowledged entries there.
        let log = has_log(real);
        let attempts = &attempts[..if log { 2 } else { 3 }];
        let (mut error, file) = (None, FileId::at(path));
        for (name, flags) in attempts {
            let opened = Connection::open_with_flags(name, *flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
                .and_then(|mut connection| {
                    configure(&mut connection, log)?;
                    Ok(connection)
                })
                .map_err(|error| error_of(path, &error))
                .and_then(|connection| {
                    check_ours(&connection, path)?;
                    let place = Place::new(path, real, file.clone());
                    Ok(Self { connection, path: path.to_owned(), place, awake: false, ahead: Cell::new(false) })
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
            Some(StoreError::ReadOnly { path, .. }) if log && std::fs::File::open(&path).is_ok() => {
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
        is_there(path, LEAST_PAGE)?;
        let (mut connection, real) = connect(path)?;
        let version = check_ours(&connection, path)?;
        let failed = |error: rusqlite::Error| error_of(path, &error);
        let file = FileId::at(path);
        let ready = || -> rusqlite::Result<()> {
            connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
            // Write-ahead log: readers (watch) and the writer (walk) don't block each other. It needs
            // shared memory, so the file must lie on a local disk, not on a network folder.
            connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
            // FULL: the log is flushed at every commit, so that what was acknowledged survives a power cut.
            connection.pragma_update(None, "synchronous", "FULL")
        };
        ready().map_err(failed)?;
        if version < schema::newest() {
            schema::migrate(&mut connection).map_err(failed)?;
        }
        let place = Place::new(path, &real, file);
        Ok(Self { connection, path: path.to_owned(), place, awake: false, ahead: Cell::new(false) })
    }

    /// Opens a file for writing and makes it when it is not there, private to the user where the system can. An empty
    /// one, as a program that was killed leaves it, is taken as well.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn create(path: &Path) -> Result<Self, StoreError> {
        if !path.exists() {
            match private_file(&resolved(path)) {
                Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => return Err(unwritten(path)(error)),
                _ => {}
            }
        }
        is_there(path, 0)?;
        let (mut connection, _) = connect(path)?;
        let failed = |error: rusqlite::Error| error_of(path, &error);
        // While another program makes it, this waits.
        let blank = "SELECT (SELECT application_id FROM pragma_application_id) = 0 \
                     AND (SELECT user_version FROM pragma_user_version) = 0 \
                     AND (SELECT count(*) FROM sqlite_schema) = 0";
        if connection.query_row(blank, [], |row| row.get(0)).map_err(failed)? {
            // All of it in one transaction, in the file itself: killed, it is empty as before.
            connection.pragma_update(None, "synchronous", "FULL").map_err(failed)?;
            schema::migrate(&mut connection).map_err(failed)?;
        }
        drop(connection);
        Self::write_to(path)
    }
}

/// Insists that there is a regular file of at least this size: SQLite would take a smaller one for an empty database and
/// remove the log beside it, and wait for ever on a pipe.
fn is_there(path: &Path, least: u64) -> Result<(), StoreError> {
    match std::fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(StoreError::Missing(path.to_owned())),
        Ok(data) if !data.is_file() || data.len() < least => Err(StoreError::NotOurs(path.to_owned())),
        _ => Ok(()),
    }
}

/// Connects to a file that may be somebody else's: nothing of it is changed.
fn connect(path: &Path) -> Result<(Connection, PathBuf), StoreError> {
    let real = resolved(path);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(&real, flags).map_err(|error| error_of(path, &error))?;
    configure(&mut connection, has_log(&real)).map_err(|error| error_of(path, &error))?;
    Ok((connection, real))
}

/// What every connection is set to; with `keep_log` it leaves the log beside the file as it is.
fn configure(connection: &mut Connection, keep_log: bool) -> rusqlite::Result<()> {
    connection.busy_handler(Some(wait))?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, keep_log)?;
    // What a file from elsewhere defines may run nothing, and nobody writes past the tables.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // A plan that was made stays, whatever is bound to it: else SQLite plans the same query again at every append.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    // Read the header now: a file that is no database says so here, not in the middle of the work.
    connection.query_row("PRAGMA schema_version", [], |_| Ok(()))
}

thread_local! {
    static WAITING_SINCE: Cell<Option<Instant>> = const { Cell::new(None) };
}

/// Waits a little for another program, by chance: SQLite's own way sleeps ever longer, so that of many programs at once
/// those that have waited longest come last.
fn wait(tries: i32) -> bool {
    let since = WAITING_SINCE.get().filter(|_| tries > 0).unwrap_or_else(Instant::now);
    WAITING_SINCE.set(Some(since));
    std::thread::sleep(Duration::from_millis(fastrand::u64(1..=15)));
    since.elapsed() < BUSY
}

/// Insists that the file is ours, not newer than we know, and with the tables and triggers that we make; gives its
/// version.
pub(super) fn check_ours(connection: &Connection, path: &Path) -> Result<i64, StoreError> {
    let failed = |error: rusqlite::Error| error_of(path, &error);
    let pragma = |name: &str| -> Result<i64, StoreError> {
        connection.query_row(&format!("PRAGMA {name}"), [], |row| row.get(0)).map_err(failed)
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
    if !has_log(&resolved(path))
        && std::fs::metadata(path).is_ok_and(|data| i64::try_from(data.len()).is_ok_and(|len| len < whole))
    {
        return Err(StoreError::Failed { path: path.to_owned(), why: CUT.into() });
    }
    // A view or a trigger in place of a table would answer as it likes, or never.
    if schema::present(connection).map_err(failed)? != *schema::expected(version).map_err(failed)? {
        return Err(StoreError::Altered(path.to_owned()));
    }
    Ok(version)
}

/// Whether part of the file may lie in the write-ahead log beside it.
fn has_log(path: &Path) -> bool {
    std::fs::metadata(with_ending(path, "-wal")).is_ok_and(|data| data.len() > 0)
}

fn immutable_uri(path: &Path) -> String {
    let mut uri = String::from("file:");
    for byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' | b':' => uri.push(char::from(*byte)),
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
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path).map(|_| ())
}
