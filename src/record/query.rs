//! Queries on a connection: jobs, entries, read tables; every entry is checked as it is read.

use std::collections::HashMap;
use std::path::Path;

use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension, params};

use super::chain::{Heads, first_break};
use super::entry::{Entry, in_order};
use super::error::{StoreError, error_of};
use super::fork::file;
use super::id::{EntryId, is_fork, origin};
use super::tables::{DefectRow, HoldRow, LogRow, ReadTables, StoredJob};

/// The version of the file that keeps struck entries in a table of their own.
const STRUCK_APART: i64 = 3;

/// The books of a job: each step of the recursion is one look into the index.
const DEVICES: &str = "
    WITH RECURSIVE book (device) AS (
        SELECT min(device) FROM entry WHERE job = ?1
        UNION ALL
        SELECT (SELECT min(device) FROM entry WHERE job = ?1 AND device > book.device)
        FROM book WHERE device IS NOT NULL
    ) SELECT device FROM book WHERE device IS NOT NULL";

/// The newest lines of the log of a job, oldest first; all of them without a limit.
pub(super) fn log(
    connection: &Connection,
    path: &Path,
    job: &str,
    limit: Option<u32>,
) -> Result<Vec<LogRow>, StoreError> {
    let failed = |error: rusqlite::Error| error_of(path, &error);
    let devices = devices(connection, job).map_err(failed)?;
    let mut entries = match (limit, devices.as_slice()) {
        // One book: the file itself counts off the newest, so that the log of a long job opens at once.
        (Some(limit), [device]) => {
            let last = head(connection, device).map_err(failed)?.map_or(0, |(seq, _)| seq);
            let before = last.saturating_sub(u64::from(limit));
            open_all(rows_after(connection, job, device, before).map_err(failed)?, path, job)?
        }
        _ => entries_after(connection, path, job, &Heads::new())?,
    };
    let surplus = entries.len().saturating_sub(limit.map_or(usize::MAX, |limit| limit as usize));
    entries.drain(..surplus);
    let struck = struck(connection, job).map_err(failed)?;
    let parsed = struck.iter().filter_map(|(id, by)| Some((id.parse().ok()?, by.parse().ok()?)));
    let mut struck: HashMap<EntryId, EntryId> = parsed.collect();
    Ok(entries
        .into_iter()
        .map(|entry| LogRow { struck_by: struck.remove(&entry.id()), entry, changes: None })
        .collect())
}

fn struck(connection: &Connection, job: &str) -> rusqlite::Result<Vec<(String, String)>> {
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let query = if version < STRUCK_APART {
        "SELECT id, struck_by FROM log_line WHERE job = ?1 AND struck_by IS NOT NULL ORDER BY id"
    } else {
        "SELECT id, struck_by FROM struck_line WHERE job = ?1 ORDER BY id"
    };
    let mut statement = connection.prepare_cached(query)?;
    statement.query_map([job], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

/// The read tables of a job.
pub(super) fn read_tables(connection: &Connection, job: &str) -> rusqlite::Result<ReadTables> {
    let holds = connection
        .prepare_cached("SELECT hold, subject, state FROM hold_line WHERE job = ?1 ORDER BY hold, subject")?
        .query_map([job], |row| Ok(HoldRow { hold: row.get(0)?, subject: row.get(1)?, state: row.get(2)? }))?
        .collect::<rusqlite::Result<_>>()?;
    let defects = connection
        .prepare_cached("SELECT id, subject, state, what FROM defect_line WHERE job = ?1 ORDER BY id")?
        .query_map([job], |row| {
            Ok(DefectRow { id: row.get(0)?, subject: row.get(1)?, state: row.get(2)?, what: row.get(3)? })
        })?
        .collect::<rusqlite::Result<_>>()?;
    Ok(ReadTables { struck: struck(connection, job)?, holds, defects })
}

/// A row of the entry table.
struct Row {
    device: String,
    seq: i64,
    line: String,
    hash: String,
}

impl Row {
    fn open(self, path: &Path, job: &str) -> Result<Entry, StoreError> {
        let id = format!("{}-{}", self.device, self.seq);
        let damaged = |what: String| StoreError::Damaged { path: path.to_owned(), id: id.clone(), what };
        let entry = Entry::open(self.line, &self.hash).map_err(|error| damaged(error.to_string()))?;
        if entry.job != job || *entry.device != *origin(&self.device) || i64::try_from(entry.seq) != Ok(self.seq) {
            return Err(damaged("it is filed in the wrong place".into()));
        }
        Ok(entry)
    }
}

/// Fewer rows than this are opened sooner than threads are started.
const WORTH_THREADS: usize = 1024;

/// Opens rows in their order, on all cores where there are many; the first that does not hold is the error.
fn open_all(rows: Vec<Row>, path: &Path, job: &str) -> Result<Vec<Entry>, StoreError> {
    let open = |row: Row| row.open(path, job);
    if rows.len() < WORTH_THREADS {
        return rows.into_iter().map(open).collect();
    }
    // Which error is the first must not depend on which thread was faster.
    let opened: Vec<Result<Entry, StoreError>> = rows.into_par_iter().map(open).collect();
    opened.into_iter().collect()
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

/// The books that a job is written in.
pub(super) fn devices(connection: &Connection, job: &str) -> rusqlite::Result<Vec<String>> {
    connection.prepare_cached(DEVICES)?.query_map([job], |row| row.get(0))?.collect()
}

/// Number and hash of the last entry of a book.
pub(super) fn head(connection: &Connection, device: &str) -> rusqlite::Result<Option<(u64, String)>> {
    let mut statement =
        connection.prepare_cached("SELECT seq, hash FROM entry WHERE device = ?1 ORDER BY seq DESC LIMIT 1")?;
    let mut rows = statement.query([device])?;
    rows.next()?.map(|row| Ok((row.get::<_, i64>(0)?.max(0) as u64, row.get(1)?))).transpose()
}

/// The hash of an entry.
fn hash_of(connection: &Connection, device: &str, seq: u64) -> rusqlite::Result<Option<String>> {
    connection
        .prepare_cached("SELECT hash FROM entry WHERE device = ?1 AND seq = ?2")?
        .query_row(params![device, i64::try_from(seq).unwrap_or(i64::MAX)], |row| row.get(0))
        .optional()
}

/// The rows of one book of a job that come after a number, in the order of their numbers.
fn rows_after(connection: &Connection, job: &str, device: &str, seq: u64) -> rusqlite::Result<Vec<Row>> {
    let mut statement = connection
        .prepare_cached("SELECT seq, line, hash FROM entry WHERE device = ?1 AND seq > ?2 AND job = ?3 ORDER BY seq")?;
    let after = i64::try_from(seq).unwrap_or(i64::MAX);
    let rows = statement.query_map(params![device, after, job], |row| {
        Ok(Row { device: device.to_owned(), seq: row.get(0)?, line: row.get(1)?, hash: row.get(2)? })
    })?;
    rows.collect()
}

pub(super) fn entries_after(
    connection: &Connection,
    path: &Path,
    job: &str,
    heads: &Heads,
) -> Result<Vec<Entry>, StoreError> {
    let failed = |error: rusqlite::Error| error_of(path, &error);
    let devices = devices(connection, job).map_err(failed)?;
    if devices.iter().any(|device| is_fork(device)) {
        return forked_after(connection, path, job, heads, &devices);
    }
    for (device, (seq, hash)) in heads {
        if hash_of(connection, device, *seq).map_err(failed)?.as_ref() != Some(hash) {
            return Err(StoreError::Diverged(path.to_owned()));
        }
    }
    let mut entries = Vec::new();
    for device in &devices {
        let from = heads.get(device).map_or(0, |(seq, _)| *seq);
        entries.extend(open_all(rows_after(connection, job, device, from).map_err(failed)?, path, job)?);
    }
    if let Some(error) = first_break(heads, &entries) {
        return Err(StoreError::Damaged { path: path.to_owned(), id: error.id, what: error.what });
    }
    in_order(&mut entries);
    Ok(entries)
}

/// The same where a book forked: the book of an entry follows from all of them.
fn forked_after(
    connection: &Connection,
    path: &Path,
    job: &str,
    heads: &Heads,
    devices: &[String],
) -> Result<Vec<Entry>, StoreError> {
    let damaged = |id: String, what: String| StoreError::Damaged { path: path.to_owned(), id, what };
    let (mut entries, mut filed) = (Vec::new(), Vec::new());
    for device in devices {
        let rows = rows_after(connection, job, device, 0).map_err(|error| error_of(path, &error))?;
        let opened = open_all(rows, path, job)?;
        filed.extend(opened.iter().map(|_| device.as_str()));
        entries.extend(opened);
    }
    file(&mut entries).map_err(|error| damaged(String::new(), error.to_string()))?;
    if let Some((entry, device)) = entries.iter().zip(filed).find(|(entry, device)| *entry.device != **device) {
        return Err(damaged(entry.id().to_string(), format!("it is filed in the wrong place, in book {device}")));
    }
    if let Some(error) = first_break(&Heads::new(), &entries) {
        return Err(damaged(error.id, error.what));
    }
    for (device, (seq, hash)) in heads {
        let there = |entry: &Entry| *entry.device == **device && entry.seq == *seq && entry.hash == *hash;
        if !entries.iter().any(there) {
            return Err(StoreError::Diverged(path.to_owned()));
        }
    }
    entries.retain(|entry| heads.get(&*entry.device).is_none_or(|(seq, _)| entry.seq > *seq));
    in_order(&mut entries);
    Ok(entries)
}
