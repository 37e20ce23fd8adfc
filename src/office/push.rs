//! Sending the office what it has not: idempotent, and gone on with wherever it broke off.

use std::collections::BTreeMap;

use super::error::OfficeError;
use super::server::Server;
use crate::record::{Entry, Heads, Store, StoreError, StoredJob, crew, origin};

/// So many entries are sent in one transaction, and no more text than this: what breaks off is lost, what was committed
/// is not.
const BATCH: usize = 4_000;
const BATCH_BYTES: usize = 16 << 20;

/// What became of the entries of a job.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Pushed {
    /// New to the office.
    pub sent: u64,
    /// There already.
    pub already: u64,
    /// In books that other logins began, and new to the office: those add to them.
    pub left: u64,
}

/// How far the office has a book.
struct There {
    seq: u64,
    /// Hash of its newest entry; absent where the login may not add to the book.
    hash: Option<String>,
    /// Whether the newest entry that the crew has is there.
    has: bool,
}

/// Sends what the office has not of a job.
///
/// # Errors
/// [`OfficeError::Refused`] names the entry that does not fit what is there; nothing of its batch is taken then.
pub fn push(server: &mut Server, store: &Store, job: &StoredJob) -> Result<Pushed, OfficeError> {
    let ends = store.heads(&job.key)?;
    if let Some((fork, (seq, _))) = ends.iter().find(|(device, _)| origin(device) != *device) {
        let what = "two copies of the file were used separately and merged: the office takes no book that forked";
        let clears = "the other jobs are sent; this one stays with the crew, which works on as before";
        let entry = format!("{fork}-{seq}");
        return Err(OfficeError::Refused { entry, what: what.to_owned(), clears: clears.to_owned() });
    }
    let there = there(server, job, &ends)?;
    let mut pushed = Pushed::default();
    let mut known = Heads::new();
    for (device, (seq, hash)) in &ends {
        match there.get(device) {
            None => {}
            // The office may be ahead of a file that was restored from a backup.
            Some(book) if book.has => {
                pushed.already += seq;
                known.insert(device.clone(), (*seq, hash.clone()));
            }
            Some(There { seq: last, hash: Some(last_hash), .. }) if last < seq => {
                known.insert(device.clone(), (*last, last_hash.clone()));
            }
            // Both have that number, and not the same entry: the server says which is the first.
            Some(There { hash: Some(_), .. }) => {}
            Some(other) => {
                pushed.already += seq.min(&other.seq);
                pushed.left += seq.saturating_sub(other.seq);
                known.insert(device.clone(), (*seq, hash.clone()));
            }
        }
    }
    known.retain(|_, (seq, _)| *seq > 0);
    let entries = match store.entries_after(&job.key, &known) {
        // What the office has is not what the file has: the server says where they part.
        Err(StoreError::Diverged(_)) => {
            known.retain(|device, end| ends.get(device) == Some(end));
            store.entries_after(&job.key, &known)
        }
        entries => entries,
    }?;
    let skipped = ends.values().map(|(seq, _)| seq).sum::<u64>() - entries.len() as u64;
    let mut sent = 0;
    for batch in batches(&entries) {
        sent += add(server, job, batch)?;
    }
    pushed.sent = sent;
    pushed.already = skipped + entries.len() as u64 - sent - pushed.left;
    Ok(pushed)
}

fn there(server: &mut Server, job: &StoredJob, ends: &Heads) -> Result<BTreeMap<String, There>, OfficeError> {
    let devices: Vec<&str> = ends.keys().map(String::as_str).collect();
    let numbers: Vec<i64> = ends.values().map(|(seq, _)| *seq as i64).collect();
    let hashes: Vec<&str> = ends.values().map(|(_, hash)| hash.as_str()).collect();
    let rows = server.rows(
        "SELECT device, seq, hash, has FROM cladlog.books_there($1, $2, $3, $4, $5)",
        &[&job.key, &crew(&job.device), &devices, &numbers, &hashes],
    )?;
    let read = |row: &postgres::Row| {
        let there = There { seq: row.try_get::<_, i64>(1)?.max(0) as u64, hash: row.try_get(2)?, has: row.try_get(3)? };
        Ok((row.try_get(0)?, there))
    };
    let read: Result<_, postgres::Error> = rows.iter().map(read).collect();
    read.map_err(|error| OfficeError::of(&server.place, &error))
}

/// Adds a batch, in one transaction; gives how many of it were new.
fn add(server: &mut Server, job: &StoredJob, batch: &[Entry]) -> Result<u64, OfficeError> {
    let lines: Vec<&str> = batch.iter().map(|entry| entry.line.as_str()).collect();
    let hashes: Vec<&str> = batch.iter().map(|entry| entry.hash.as_str()).collect();
    let added: i64 =
        server.one("SELECT cladlog.add($1, $2, $3, $4)", &[&job.key, &crew(&job.device), &lines, &hashes])?;
    Ok(added.max(0) as u64)
}

/// Entries in their order, parted into batches.
fn batches(entries: &[Entry]) -> Vec<&[Entry]> {
    let (mut all, mut from, mut bytes) = (Vec::new(), 0, 0);
    for (place, entry) in entries.iter().enumerate() {
        if place > from && (place - from == BATCH || bytes + entry.line.len() > BATCH_BYTES) {
            all.push(&entries[from..place]);
            (from, bytes) = (place, 0);
        }
        bytes += entry.line.len();
    }
    if from < entries.len() {
        all.push(&entries[from..]);
    }
    all
}
