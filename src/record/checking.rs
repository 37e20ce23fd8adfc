//! Checking a whole file: pages, tables, triggers, every entry, every chain.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

use rusqlite::Connection;
use serde::Deserialize;

use super::chain::{ChainError, Link, check_chain};
use super::entry::{Entry, NO_PREVIOUS};
use super::schema;
use super::store::{Store, StoreError, error_of};
use crate::digest::is_sha256;

/// Rows that are handed over at once: enough that handing over costs nothing, few enough to stay in the cache.
const BATCH: usize = 256;

/// Batches under way for each checker; bounds the memory, whatever the size of the file.
const UNDER_WAY: usize = 4;

impl Store {
    /// Checks the whole file: pages, tables and triggers, every entry, every chain.
    ///
    /// Gives the number of entries and every error found; the entry's id is empty for errors of the file.
    ///
    /// One thread reads the rows and the others hash them: a whole file takes little longer than reading it. Only
    /// when something does not hold is the file gone through again, slowly, to name every error.
    ///
    /// # Errors
    /// [`StoreError`] when it can't be read that far.
    pub fn verify(&self) -> Result<(u64, Vec<ChainError>), StoreError> {
        let failed = |error: rusqlite::Error| error_of(&self.path, &error);
        let mut errors = Vec::new();
        let version: i64 = self.connection.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(failed)?;
        if schema::present(&self.connection).map_err(failed)? != schema::expected(version).map_err(failed)? {
            let what = "its tables or triggers are not those that cladlog makes: somebody has altered them".into();
            errors.push(ChainError { id: String::new(), what });
        }
        let path = &self.path;
        let (pages, quick) = std::thread::scope(|scope| {
            // Another connection, on another core; where it can't be had, the pages are looked at afterwards.
            let pages = scope.spawn(|| Self::read(path).ok().map(|other| pages(&other.connection)));
            let quick = all_hold(&self.connection);
            (pages.join().ok().flatten(), quick)
        });
        let count = match quick {
            Ok(Some(count)) => count,
            _ => {
                let (links, count, damaged) = links(&self.connection).map_err(failed)?;
                errors.extend(damaged);
                errors.extend(check_chain(links));
                count
            }
        };
        let pages = pages.unwrap_or_else(|| self::pages(&self.connection));
        errors.extend(pages.into_iter().map(|what| ChainError { id: String::new(), what }));
        Ok((count, errors))
    }
}

/// What SQLite finds wrong with the pages of the file.
fn pages(connection: &Connection) -> Vec<String> {
    let said: Vec<String> = connection
        .prepare("PRAGMA quick_check(20)")
        .and_then(|mut statement| statement.query_map([], |row| row.get(0))?.collect())
        .unwrap_or_else(|error| vec![error.to_string()]);
    said.into_iter().filter(|line| line != "ok").collect()
}

/// A row as it lies in the file, in the text of its batch.
struct Row {
    job: usize,
    device: usize,
    line: usize,
    seq: u64,
    hash: [u8; 64],
    /// Hash of the row before it in its book.
    before: [u8; 64],
}

#[derive(Default)]
struct Batch {
    /// Job, device and line of each row, one after the other.
    text: String,
    rows: Vec<Row>,
}

/// What has to agree with the columns that a row is found by.
#[derive(Deserialize)]
struct Filed<'l> {
    #[serde(borrow)]
    device: Cow<'l, str>,
    seq: u64,
    #[serde(borrow)]
    prev: Cow<'l, str>,
    #[serde(borrow)]
    body: OfJob<'l>,
}

#[derive(Deserialize)]
struct OfJob<'l> {
    #[serde(borrow)]
    job: Cow<'l, str>,
}

impl Batch {
    fn holds(&self) -> bool {
        let mut at = 0;
        self.rows.iter().all(|row| {
            let mut part = |length: usize| {
                let text = self.text.get(at..at + length).unwrap_or_default();
                at += length;
                text
            };
            let (job, device, line) = (part(row.job), part(row.device), part(row.line));
            is_sha256(line.as_bytes(), std::str::from_utf8(&row.hash).unwrap_or_default())
                && serde_json::from_str::<Filed<'_>>(line).is_ok_and(|filed| {
                    filed.device == device
                        && filed.seq == row.seq
                        && filed.body.job == job
                        && filed.prev.as_bytes() == row.before.as_slice()
                })
        })
    }
}

/// Number of entries when every one holds and every chain is whole; `None` when something does not.
fn all_hold(connection: &Connection) -> rusqlite::Result<Option<u64>> {
    let cores = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
    std::thread::scope(|scope| {
        let mut lanes: Vec<SyncSender<Batch>> = Vec::new();
        let mut checkers = Vec::new();
        for _ in 0..(cores - 1).clamp(1, 8) {
            let (lane, rows): (SyncSender<Batch>, Receiver<Batch>) = sync_channel(UNDER_WAY);
            lanes.push(lane);
            // A checker that meets a error hangs up: then the reader stops as well.
            checkers.push(scope.spawn(move || rows.into_iter().all(|batch| batch.holds())));
        }
        let read = send_all(connection, &lanes);
        drop(lanes);
        let held: Vec<bool> = checkers.into_iter().map(|checker| checker.join().unwrap_or(false)).collect();
        Ok(read?.filter(|_| held.iter().all(|held| *held)))
    })
}

/// Reads every row in the order of filing and hands it on; `None` when a number is missing or a checker hung up.
fn send_all(connection: &Connection, lanes: &[SyncSender<Batch>]) -> rusqlite::Result<Option<u64>> {
    let mut first = [0; 64];
    first.copy_from_slice(NO_PREVIOUS.as_bytes());
    let mut heads: HashMap<String, (u64, [u8; 64])> = HashMap::new();
    let mut statement = connection.prepare("SELECT job, device, seq, line, hash FROM entry ORDER BY place")?;
    let mut rows = statement.query([])?;
    let mut lane = lanes.iter().cycle();
    let mut batch = Batch::default();
    let mut count = 0;
    while let Some(row) = rows.next()? {
        count += 1;
        let text = |column: usize| row.get_ref(column).ok().and_then(|value| value.as_str().ok());
        let (Some(job), Some(device), Some(line), Some(hash)) = (text(0), text(1), text(3), text(4)) else {
            return Ok(None);
        };
        let (Ok(seq), Ok(hash)) = (u64::try_from(row.get::<_, i64>(2)?), <[u8; 64]>::try_from(hash.as_bytes())) else {
            return Ok(None);
        };
        let before = match heads.get_mut(device) {
            Some(head) if head.0 + 1 == seq => std::mem::replace(head, (seq, hash)).1,
            None if seq == 1 => {
                heads.insert(device.to_owned(), (1, hash));
                first
            }
            // A gap; or a merge that filed a book out of turn, which the slow way sorts out.
            _ => return Ok(None),
        };
        for part in [job, device, line] {
            batch.text.push_str(part);
        }
        batch.rows.push(Row { job: job.len(), device: device.len(), line: line.len(), seq, hash, before });
        if batch.rows.len() == BATCH {
            let full = std::mem::take(&mut batch);
            if lane.next().is_none_or(|lane| lane.send(full).is_err()) {
                return Ok(None);
            }
        }
    }
    let sent = lane.next().is_some_and(|lane| lane.send(batch).is_ok());
    Ok(sent.then_some(count))
}

/// The links of every chain, the number of entries, and the entries that do not hold, each by its id.
fn links(connection: &Connection) -> rusqlite::Result<(Vec<Link>, u64, Vec<ChainError>)> {
    let mut statement =
        connection.prepare("SELECT job, device, seq, CAST(line AS BLOB), hash FROM entry ORDER BY device, seq")?;
    let mut rows = statement.query([])?;
    let (mut links, mut count, mut errors) = (Vec::new(), 0, Vec::new());
    while let Some(row) = rows.next()? {
        count += 1;
        let text = |column: usize| row.get_ref(column).ok().and_then(|value| value.as_str().ok().map(str::to_owned));
        let (job, device) = (text(0).unwrap_or_default(), text(1).unwrap_or_default());
        let seq = row.get::<_, i64>(2).unwrap_or(0).max(0) as u64;
        let (line, hash) = (row.get::<_, Vec<u8>>(3).unwrap_or_default(), text(4).unwrap_or_default());
        let id = format!("{device}-{seq}");
        let opened = String::from_utf8(line)
            .map_err(|_| "its text is damaged".to_owned())
            .and_then(|line| Entry::open(line, &hash).map_err(|error| error.to_string()))
            .and_then(|entry| {
                if entry.job == job && entry.device == device && entry.seq == seq {
                    Ok(entry)
                } else {
                    Err(format!("it is filed in the wrong place: its text says {} of job {}", entry.id(), entry.job))
                }
            });
        match opened {
            Ok(entry) => links.push(Link::from(&entry)),
            Err(what) => {
                errors.push(ChainError { id: id.clone(), what });
                links.push(Link { id, device, seq, hashes: None });
            }
        }
    }
    Ok((links, count, errors))
}
