//! Checking a whole file: pages, every entry, every chain.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rusqlite::Connection;
use serde::Deserialize;

use super::chain::{ChainError, Link, check_chain};
use super::entry::{Entry, NO_PREVIOUS};
use super::error::{StoreError, error_of};
use super::fork::{Leaf, books};
use super::id::origin;
use super::store::Store;
use crate::digest::is_sha256;
use crate::moment::Moment;

/// Rows that are handed over at once: enough that handing over costs nothing, few enough to stay in the cache.
const BATCH: usize = 256;

/// Batches that may wait to be checked; bounds the memory, whatever the size of the file.
const MOST_WAITING: usize = 32;

impl Store {
    /// Checks the whole file: pages, every entry, every chain; its tables and triggers were when it was opened.
    ///
    /// Gives the number of entries and every error found; the entry's id is empty for errors of the file.
    ///
    /// One thread reads the rows while others hash them: a whole file takes little longer than reading it. Only
    /// when something does not hold is the file gone through again, slowly, to name every error.
    ///
    /// # Errors
    /// [`StoreError`] when it can't be read that far.
    pub fn verify(&self) -> Result<(u64, Vec<ChainError>), StoreError> {
        let failed = |error: rusqlite::Error| error_of(&self.path, &error);
        let mut errors = Vec::new();
        let path = &self.path;
        let mut pages = None;
        let quick = rayon::in_place_scope(|scope| {
            // Another connection, on another core; where it can't be had, the pages are looked at afterwards.
            scope.spawn(|_| pages = Self::read(path).ok().map(|other| self::pages(&other.connection)));
            all_hold(&self.connection)
        });
        let count = match quick {
            Ok(Some(count)) => count,
            _ => {
                let (links, count, damaged) = links(&self.connection).map_err(failed)?;
                errors.extend(damaged);
                errors.extend(check_chain(links.iter().map(Found::link)));
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
    let (waiting, broken) = (AtomicUsize::new(0), AtomicBool::new(false));
    let read = rayon::in_place_scope(|scope| {
        read_batches(connection, |batch| {
            if waiting.load(Ordering::Relaxed) >= MOST_WAITING {
                // The others don't keep up: the reader lends a hand.
                broken.fetch_or(!batch.holds(), Ordering::Relaxed);
            } else {
                waiting.fetch_add(1, Ordering::Relaxed);
                let (waiting, broken) = (&waiting, &broken);
                scope.spawn(move |_| {
                    broken.fetch_or(!batch.holds(), Ordering::Relaxed);
                    waiting.fetch_sub(1, Ordering::Relaxed);
                });
            }
            !broken.load(Ordering::Relaxed)
        })
    });
    Ok(read?.filter(|_| !broken.into_inner()))
}

/// Reads every row in the order of filing and hands them on until `check` says no; gives their number, or `None` when
/// one is missing or `check` said no.
fn read_batches(connection: &Connection, mut check: impl FnMut(Batch) -> bool) -> rusqlite::Result<Option<u64>> {
    let mut first = [0; 64];
    first.copy_from_slice(NO_PREVIOUS.as_bytes());
    let mut heads: HashMap<String, (u64, [u8; 64])> = HashMap::new();
    let mut statement = connection.prepare("SELECT job, device, seq, line, hash FROM entry ORDER BY place")?;
    let mut rows = statement.query([])?;
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
        if batch.rows.len() == BATCH && !check(std::mem::take(&mut batch)) {
            return Ok(None);
        }
    }
    Ok(check(batch).then_some(count))
}

/// A row of the entry table, as far as chains go by it.
struct Found {
    device: String,
    seq: u64,
    /// Hash of the one before, its own, and when it was recorded; absent when the entry itself is damaged.
    whole: Option<(String, String, Moment)>,
}

impl Found {
    fn link(&self) -> Link<'_> {
        let hashes = self.whole.as_ref().map(|(prev, hash, _)| (prev.as_str(), hash.as_str()));
        Link { device: &self.device, seq: self.seq, hashes }
    }
}

/// The rows of every chain, the number of entries, and the entries that do not hold, each by its id.
fn links(connection: &Connection) -> rusqlite::Result<(Vec<Found>, u64, Vec<ChainError>)> {
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
        let opened = String::from_utf8(line)
            .map_err(|_| "its text is damaged".to_owned())
            .and_then(|line| Entry::open(line, &hash).map_err(|error| error.to_string()))
            .and_then(|entry| {
                if entry.job == job && *entry.device == *origin(&device) && entry.seq == seq {
                    Ok(entry)
                } else {
                    Err(format!(
                        "stored under the wrong job, device or number: its text says {} of job {}",
                        entry.id(),
                        entry.job
                    ))
                }
            });
        let whole = match opened {
            Ok(entry) => Some((entry.prev, entry.hash, entry.recorded_at)),
            Err(what) => {
                errors.push(ChainError { id: format!("{device}-{seq}"), what });
                None
            }
        };
        links.push(Found { device, seq, whole });
    }
    errors.extend(misfiled(&links));
    Ok((links, count, errors))
}

/// The entries that lie in another book than their lines and those of the other books say.
fn misfiled(links: &[Found]) -> Vec<ChainError> {
    fn leaf(found: &Found) -> Option<Leaf<'_>> {
        let (prev, hash, recorded_at) = found.whole.as_ref()?;
        Some(Leaf { device: origin(&found.device), seq: found.seq, recorded_at: *recorded_at, prev, hash })
    }
    let (leaves, whole): (Vec<Leaf<'_>>, Vec<&Found>) =
        links.iter().filter_map(|found| Some((leaf(found)?, found))).unzip();
    let names = books(&leaves).0;
    let wrong = whole
        .iter()
        .zip(&names)
        .filter(|(link, name)| name.as_deref().unwrap_or_else(|| origin(&link.device)) != link.device);
    let what = || "it is filed in the wrong book".to_owned();
    wrong.map(|(found, _)| ChainError { id: format!("{}-{}", found.device, found.seq), what: what() }).collect()
}
