//! Rows of the file on a connection, as they lie there.

use rusqlite::{Connection, OptionalExtension, params};

use super::tables::{CommandRow, DefectRow, HoldRow, ReadTables, SentRow, StoredJob};

/// The version of the file that keeps struck entries in a table of their own.
const STRUCK_APART: i64 = 3;

/// The version of the file that notes what its commands recorded.
const NOTES_COMMANDS: i64 = 5;

/// The books of a job: each step of the recursion is one look into the index.
const DEVICES: &str = "
    WITH RECURSIVE book (device) AS (
        SELECT min(device) FROM entry WHERE job = ?1
        UNION ALL
        SELECT (SELECT min(device) FROM entry WHERE job = ?1 AND device > book.device)
        FROM book WHERE device IS NOT NULL
    ) SELECT device FROM book WHERE device IS NOT NULL";

pub(super) fn struck(connection: &Connection, job: &str) -> rusqlite::Result<Vec<(String, String)>> {
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let query = if version < STRUCK_APART {
        "SELECT id, struck_by FROM log_line WHERE job = ?1 AND struck_by IS NOT NULL ORDER BY id"
    } else {
        "SELECT id, struck_by FROM struck_line WHERE job = ?1 ORDER BY id"
    };
    let mut statement = connection.prepare_cached(query)?;
    statement.query_map([job], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

/// What the file noted of the commands that wrote a book, in the order of the book.
pub(super) fn commands(connection: &Connection, device: &str) -> rusqlite::Result<Vec<CommandRow>> {
    let version: i64 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if version < NOTES_COMMANDS {
        return Ok(Vec::new());
    }
    connection
        .prepare_cached("SELECT first, last, undo FROM command_line WHERE device = ?1 ORDER BY first")?
        .query_map([device], |row| {
            let number = |column| Ok::<_, rusqlite::Error>(row.get::<_, i64>(column)?.max(0) as u64);
            Ok(CommandRow { first: number(0)?, last: number(1)?, undo: row.get::<_, i64>(2)? != 0 })
        })?
        .collect()
}

/// What a phone sent under this id.
pub(super) fn sent(connection: &Connection, phone: &str, request: &str) -> rusqlite::Result<Option<SentRow>> {
    let find = "SELECT sha256, answer FROM sent_line WHERE phone = ?1 AND request = ?2";
    let row = |row: &rusqlite::Row<'_>| {
        let (phone, request) = (phone.to_owned(), request.to_owned());
        Ok(SentRow { phone, request, sha256: row.get(0)?, answer: row.get(1)? })
    };
    connection.prepare_cached(find)?.query_row([phone, request], row).optional()
}

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
pub(super) fn hash_of(connection: &Connection, device: &str, seq: u64) -> rusqlite::Result<Option<String>> {
    connection
        .prepare_cached("SELECT hash FROM entry WHERE device = ?1 AND seq = ?2")?
        .query_row(params![device, i64::try_from(seq).unwrap_or(i64::MAX)], |row| row.get(0))
        .optional()
}

/// The rows of one book of a job that come after a number, in the order of their numbers.
pub(super) fn rows_after(connection: &Connection, job: &str, device: &str, seq: u64) -> rusqlite::Result<Vec<Row>> {
    let mut statement = connection
        .prepare_cached("SELECT seq, line, hash FROM entry WHERE device = ?1 AND seq > ?2 AND job = ?3 ORDER BY seq")?;
    let after = i64::try_from(seq).unwrap_or(i64::MAX);
    let rows = statement.query_map(params![device, after, job], |row| {
        Ok(Row { device: device.to_owned(), seq: row.get(0)?, line: row.get(1)?, hash: row.get(2)? })
    })?;
    rows.collect()
}

/// A row of the entry table.
pub(super) struct Row {
    pub device: String,
    pub seq: i64,
    pub line: String,
    pub hash: String,
}
