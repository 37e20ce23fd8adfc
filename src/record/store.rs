//! The SQLite file: opening it, reading entries, appending them.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior, params};

use super::chain::{ChainFault, Link, check_chain};
use super::entry::Entry;
use super::schema;
use super::writing::Writing;

/// How long one program waits for another that is writing. An append takes milliseconds; whoever
/// holds the lock for this long is stuck, and the person should hear of it.
const BUSY: Duration = Duration::from_secs(5);

/// Why the file could not be used.
#[derive(Debug, thiserror::Error)]
pub enum StoreFault {
    /// There is no such file.
    #[error("{}: there is no such database", .0.display())]
    Missing(PathBuf),
    /// It is something else.
    #[error("{}: is not a cladlog database", .0.display())]
    NotOurs(PathBuf),
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
    /// Another program holds it.
    #[error("{}: another program is writing to it and did not finish within {} s", .0.display(), BUSY.as_secs())]
    Busy(PathBuf),
    /// It can't be written.
    #[error("{}: can't be written: {why}", .path.display())]
    ReadOnly {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: String,
    },
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

/// A job as the file lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredJob {
    /// Key.
    pub key: String,
    /// Name.
    pub name: String,
    /// Id of this file's own book for the job.
    pub device: String,
    /// Whether any of it was written under a rehearsal clock.
    pub rehearsal: bool,
}

/// A line of the log.
#[derive(Debug, Clone)]
pub struct LogRow {
    /// The entry, checked against its hash.
    pub entry: Entry,
    /// The entry that strikes it.
    pub struck_by: Option<String>,
}

/// A hold point's state, for the read table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct HoldRow {
    /// Key of the hold point.
    pub hold: String,
    /// Subject.
    pub subject: String,
    /// held, released or refused.
    pub state: &'static str,
}

/// A defect's state, for the read table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct DefectRow {
    /// Id.
    pub id: String,
    /// Subject.
    pub subject: String,
    /// open, closed or conceded.
    pub state: &'static str,
    /// What is wrong.
    pub what: String,
}

/// What the entries of a job come to, for the read tables.
#[derive(Debug, Clone, Default)]
pub struct ReadSide {
    /// Struck entries and what strikes them.
    pub struck: Vec<(String, String)>,
    /// Hold points.
    pub holds: Vec<HoldRow>,
    /// Defects.
    pub defects: Vec<DefectRow>,
}

/// An open file.
pub struct Store {
    connection: Connection,
    path: PathBuf,
}

impl Store {
    pub(super) fn connection(&self) -> &Connection {
        &self.connection
    }

    /// Opens a file for reading; it must be there.
    ///
    /// # Errors
    /// [`StoreFault`]: missing, not ours, newer, damaged.
    pub fn read(path: &Path) -> Result<Self, StoreFault> {
        if !path.exists() {
            return Err(StoreFault::Missing(path.to_owned()));
        }
        // A WAL file is read through a shared-memory file beside it, so even a reader wants to write there.
        // On a disk that can't be written nobody else writes either: then SQLite may take it as it stands.
        let attempts = [
            (path.to_string_lossy().into_owned(), OpenFlags::SQLITE_OPEN_READ_WRITE),
            (path.to_string_lossy().into_owned(), OpenFlags::SQLITE_OPEN_READ_ONLY),
            (immutable_uri(path), OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI),
        ];
        let mut fault = None;
        for (name, flags) in attempts {
            let opened = Connection::open_with_flags(&name, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
                .and_then(|connection| {
                    settle(&connection)?;
                    Ok(connection)
                })
                .map_err(|error| fault_of(path, &error))
                .and_then(|connection| {
                    check_ours(&connection, path)?;
                    Ok(Self { connection, path: path.to_owned() })
                });
            match opened {
                Ok(store) => return Ok(store),
                // Only a want of access is worth another try.
                Err(found @ (StoreFault::ReadOnly { .. } | StoreFault::Failed { .. })) => {
                    fault.get_or_insert(found);
                }
                Err(other) => return Err(other),
            }
        }
        Err(fault.unwrap_or_else(|| StoreFault::Missing(path.to_owned())))
    }

    /// Opens a file for writing; it must be there. An older file is brought up to date.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn write_to(path: &Path) -> Result<Self, StoreFault> {
        if !path.exists() {
            return Err(StoreFault::Missing(path.to_owned()));
        }
        let mut store = Self::open(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        let version = check_ours(&store.connection, path)?;
        if version < schema::newest() {
            schema::migrate(&mut store.connection).map_err(|error| fault_of(path, &error))?;
        }
        Ok(store)
    }

    /// Opens a file for writing and makes it when it is not there, private to the user where the system can.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn create(path: &Path) -> Result<Self, StoreFault> {
        let empty = std::fs::metadata(path).is_ok_and(|data| data.is_file() && data.len() == 0);
        if path.exists() && !empty {
            return Self::write_to(path);
        }
        private_file(path).map_err(|error| StoreFault::ReadOnly { path: path.to_owned(), why: error.to_string() })?;
        let mut store = Self::open(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        schema::migrate(&mut store.connection).map_err(|error| fault_of(path, &error))?;
        Ok(store)
    }

    fn open(path: &Path, flags: OpenFlags) -> Result<Self, StoreFault> {
        let opened = || -> rusqlite::Result<Connection> {
            let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
            settle(&connection)?;
            // Write-ahead log: readers (watch) and the writer (walk) don't block each other. It needs
            // shared memory, so the file must lie on a local disk, not on a network folder.
            connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
            // FULL: the log is flushed at every commit, so that what was acknowledged survives a power cut.
            connection.pragma_update(None, "synchronous", "FULL")?;
            Ok(connection)
        };
        let connection = opened().map_err(|error| fault_of(path, &error))?;
        Ok(Self { connection, path: path.to_owned() })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A number that is another one after any other program wrote to the file: cheaper than reading it anew.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn data_version(&self) -> Result<i64, StoreFault> {
        let version = self.connection.query_row("PRAGMA data_version", [], |row| row.get(0));
        version.map_err(|error| fault_of(&self.path, &error))
    }

    /// The jobs of the file, by key.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn jobs(&self) -> Result<Vec<StoredJob>, StoreFault> {
        jobs(&self.connection).map_err(|error| fault_of(&self.path, &error))
    }

    /// The entries of a job, each checked against its hash and its chain.
    ///
    /// # Errors
    /// [`StoreFault::Damaged`] naming the first entry that does not hold.
    pub fn entries(&self, job: &str) -> Result<Vec<Entry>, StoreFault> {
        entries(&self.connection, &self.path, job)
    }

    /// The newest lines of the log of a job, oldest first; all of them without a limit.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn log(&self, job: &str, limit: Option<u32>) -> Result<Vec<LogRow>, StoreFault> {
        let failed = |error: rusqlite::Error| fault_of(&self.path, &error);
        let mut statement = self
            .connection
            .prepare(
                "SELECT line, hash, struck_by, id FROM log_line JOIN entry USING (place)
                 WHERE log_line.job = ?1 ORDER BY place DESC LIMIT ?2",
            )
            .map_err(failed)?;
        let mut rows = statement.query(params![job, limit.map_or(-1, i64::from)]).map_err(failed)?;
        let mut log = Vec::new();
        while let Some(row) = rows.next().map_err(failed)? {
            let text = |column: usize| row.get::<_, String>(column).map_err(failed);
            let id = text(3)?;
            let entry = Entry::open(text(0)?, &text(1)?).map_err(|fault| StoreFault::Damaged {
                path: self.path.clone(),
                id,
                what: fault.to_string(),
            })?;
            log.push(LogRow { entry, struck_by: row.get(2).map_err(failed)? });
        }
        log.reverse();
        Ok(log)
    }

    /// Runs `work` in one transaction that no other writer can enter; commits when it succeeds.
    ///
    /// What it appended is durable when this returns.
    ///
    /// # Errors
    /// Whatever `work` gives, after rolling back; or [`StoreFault`] turned into it.
    pub fn write<T, E: From<StoreFault>>(
        &mut self,
        work: impl FnOnce(&mut Writing<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let path = self.path.clone();
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|error| fault_of(&path, &error))?;
        let mut writing = Writing::new(&transaction, &path);
        let value = work(&mut writing)?;
        transaction.commit().map_err(|error| fault_of(&path, &error))?;
        Ok(value)
    }

    /// Copies the file while others may write to it, by SQLite's online backup.
    ///
    /// # Errors
    /// [`StoreFault`]; nothing is left behind under `target` when it fails half-way.
    pub fn backup(&self, target: &Path) -> Result<(), StoreFault> {
        let part = target.with_extension("part");
        let copied = || -> rusqlite::Result<()> {
            let mut copy = Connection::open(&part)?;
            let backup = rusqlite::backup::Backup::new(&self.connection, &mut copy)?;
            backup.run_to_completion(256, Duration::from_millis(5), None)
        };
        let done = private_file(&part)
            .map_err(|error| StoreFault::ReadOnly { path: target.to_owned(), why: error.to_string() })
            .and_then(|()| copied().map_err(|error| fault_of(target, &error)))
            .and_then(|()| {
                std::fs::rename(&part, target)
                    .map_err(|error| StoreFault::ReadOnly { path: target.to_owned(), why: error.to_string() })
            });
        if done.is_err() {
            // The message about the failure matters more than a leftover.
            let _ = std::fs::remove_file(&part);
        }
        done
    }

    /// Checks the whole file: pages, tables and triggers, every entry, every chain.
    ///
    /// Gives the number of entries and every fault found; the entry's id is empty for faults of the file.
    ///
    /// # Errors
    /// [`StoreFault`] when it can't be read that far.
    pub fn verify(&self) -> Result<(u64, Vec<ChainFault>), StoreFault> {
        let failed = |error: rusqlite::Error| fault_of(&self.path, &error);
        let mut faults = Vec::new();
        let expected = schema::expected().map_err(failed)?;
        if schema::present(&self.connection).map_err(failed)? != expected {
            let what = "its tables or triggers are not those that cladlog makes: somebody has altered them".into();
            faults.push(ChainFault { id: String::new(), what });
        }
        let (links, count, damaged) = self.links().map_err(failed)?;
        faults.extend(damaged);
        faults.extend(check_chain(links));
        let pages: Vec<String> = self
            .connection
            .prepare("PRAGMA quick_check(20)")
            .and_then(|mut statement| statement.query_map([], |row| row.get(0))?.collect())
            .unwrap_or_else(|error| vec![error.to_string()]);
        faults.extend(pages.into_iter().filter(|line| line != "ok").map(|what| ChainFault { id: String::new(), what }));
        Ok((count, faults))
    }

    fn links(&self) -> rusqlite::Result<(Vec<Link>, u64, Vec<ChainFault>)> {
        let mut statement = self
            .connection
            .prepare("SELECT job, device, seq, CAST(line AS BLOB), hash FROM entry ORDER BY device, seq")?;
        let mut rows = statement.query([])?;
        let (mut links, mut count, mut faults) = (Vec::new(), 0, Vec::new());
        while let Some(row) = rows.next()? {
            count += 1;
            let text =
                |column: usize| row.get_ref(column).ok().and_then(|value| value.as_str().ok().map(str::to_owned));
            let (job, device) = (text(0).unwrap_or_default(), text(1).unwrap_or_default());
            let seq = row.get::<_, i64>(2).unwrap_or(0).max(0) as u64;
            let (line, hash) = (row.get::<_, Vec<u8>>(3).unwrap_or_default(), text(4).unwrap_or_default());
            let id = format!("{device}-{seq}");
            let opened = String::from_utf8(line)
                .map_err(|_| "its text is damaged".to_owned())
                .and_then(|line| Entry::open(line, &hash).map_err(|fault| fault.to_string()))
                .and_then(|entry| {
                    if entry.job == job && entry.device == device && entry.seq == seq {
                        Ok(entry)
                    } else {
                        Err(format!(
                            "it is filed in the wrong place: its text says {} of job {}",
                            entry.id(),
                            entry.job
                        ))
                    }
                });
            match opened {
                Ok(entry) => links.push(Link::from(&entry)),
                Err(what) => {
                    faults.push(ChainFault { id: id.clone(), what });
                    links.push(Link { id, device, seq, hashes: None });
                }
            }
        }
        Ok((links, count, faults))
    }

    /// The read tables of a job as they stand, to be compared with what the entries come to.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn read_side(&self, job: &str) -> Result<ReadSide, StoreFault> {
        let read = || -> rusqlite::Result<ReadSide> {
            let struck = self
                .connection
                .prepare("SELECT id, struck_by FROM log_line WHERE job = ?1 AND struck_by IS NOT NULL ORDER BY id")?
                .query_map([job], |row| Ok((row.get(0)?, row.get(1)?)))?
                .collect::<rusqlite::Result<_>>()?;
            let known =
                |state: String, words: &[&'static str]| words.iter().copied().find(|w| **w == *state).unwrap_or("?");
            let holds = self
                .connection
                .prepare("SELECT hold, subject, state FROM hold_line WHERE job = ?1 ORDER BY hold, subject")?
                .query_map([job], |row| {
                    let state = known(row.get(2)?, &["held", "released", "refused"]);
                    Ok(HoldRow { hold: row.get(0)?, subject: row.get(1)?, state })
                })?
                .collect::<rusqlite::Result<_>>()?;
            let defects = self
                .connection
                .prepare("SELECT id, subject, state, what FROM defect_line WHERE job = ?1 ORDER BY id")?
                .query_map([job], |row| {
                    let state = known(row.get(2)?, &["open", "closed", "conceded"]);
                    Ok(DefectRow { id: row.get(0)?, subject: row.get(1)?, state, what: row.get(3)? })
                })?
                .collect::<rusqlite::Result<_>>()?;
            Ok(ReadSide { struck, holds, defects })
        };
        read().map_err(|error| fault_of(&self.path, &error))
    }
}

pub(super) fn jobs(connection: &Connection) -> rusqlite::Result<Vec<StoredJob>> {
    connection
        .prepare_cached("SELECT job, name, device, rehearsal FROM job_line ORDER BY job")?
        .query_map([], |row| {
            Ok(StoredJob {
                key: row.get(0)?,
                name: row.get(1)?,
                device: row.get(2)?,
                rehearsal: row.get::<_, i64>(3)? != 0,
            })
        })?
        .collect()
}

pub(super) fn entries(connection: &Connection, path: &Path, job: &str) -> Result<Vec<Entry>, StoreFault> {
    let damaged = |id: String, what: String| StoreFault::Damaged { path: path.to_owned(), id, what };
    let rows: Vec<(String, i64, String, String)> = connection
        .prepare_cached("SELECT device, seq, line, hash FROM entry WHERE job = ?1 ORDER BY place")
        .and_then(|mut statement| {
            statement.query_map([job], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?.collect()
        })
        .map_err(|error| fault_of(path, &error))?;
    let mut entries = Vec::with_capacity(rows.len());
    for (device, seq, line, hash) in rows {
        let id = format!("{device}-{seq}");
        let entry = Entry::open(line, &hash).map_err(|fault| damaged(id.clone(), fault.to_string()))?;
        if entry.job != job || entry.id() != id {
            return Err(damaged(id, "it is filed in the wrong place".into()));
        }
        entries.push(entry);
    }
    if let Some(fault) = check_chain(entries.iter().map(Link::from)).into_iter().next() {
        return Err(damaged(fault.id, fault.what));
    }
    Ok(entries)
}

/// What every connection is set to.
fn settle(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(BUSY)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // Read the header now: a file that is no database says so here, not in the middle of the work.
    connection.query_row("PRAGMA schema_version", [], |_| Ok(()))
}

/// Insists that the file is ours and not newer than we know; gives its version.
fn check_ours(connection: &Connection, path: &Path) -> Result<i64, StoreFault> {
    let pragma = |name: &str| -> Result<i64, StoreFault> {
        connection.query_row(&format!("PRAGMA {name}"), [], |row| row.get(0)).map_err(|error| fault_of(path, &error))
    };
    if pragma("application_id")? != i64::from(schema::APPLICATION_ID) {
        return Err(StoreFault::NotOurs(path.to_owned()));
    }
    let version = pragma("user_version")?;
    if version > schema::newest() {
        return Err(StoreFault::Newer { path: path.to_owned(), version, known: schema::newest() });
    }
    Ok(version)
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

pub(super) fn fault_of(path: &Path, error: &rusqlite::Error) -> StoreFault {
    let path = path.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreFault::NotOurs(path),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreFault::Busy(path),
        Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
            StoreFault::ReadOnly { path, why: error.to_string() }
        }
        Some(ErrorCode::DatabaseCorrupt) => {
            StoreFault::Failed { path, why: "the file is damaged or cut short: restore it from a backup".into() }
        }
        Some(ErrorCode::DiskFull) => StoreFault::Failed { path, why: "the disk is full: nothing was written".into() },
        _ => StoreFault::Failed { path, why: error.to_string() },
    }
}
