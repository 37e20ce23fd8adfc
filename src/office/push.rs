//! Sending the office what it has not: idempotent, and gone on with wherever it broke off.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::error::OfficeError;
use super::server::Server;
use super::tails::{Known, Place, Tails};
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

/// What the office has of a book of the file.
#[derive(Default)]
struct There {
    /// Whether the newest entry that the file has is there.
    has_newest: bool,
    /// Its books of that device: the number of the newest entry, and its hash, absent where the login may not add to it.
    books: Vec<(u64, Option<String>)>,
}

impl There {
    fn may_add(&self) -> bool {
        self.books.iter().all(|(_, hash)| hash.is_some())
    }
}

/// An entry, and the book of the office that it goes to.
struct Sending<'e> {
    entry: &'e Entry,
    book: Arc<str>,
    /// The tail of a book that forked begins with it: what it left has to be there.
    begins_tail: bool,
}

/// Sends what the office has not of a job.
///
/// # Errors
/// [`OfficeError::Refused`] names the entry that does not fit what is there; nothing of its batch is taken then.
pub fn push(server: &mut Server, store: &Store, job: &StoredJob) -> Result<Pushed, OfficeError> {
    let ends = store.heads(&job.key)?;
    let there = there(server, job, &ends)?;
    let Parted { mut known, forked, mut left } = parted(&ends, &there);
    let entries = match store.entries_after(&job.key, &known) {
        // What the office has is not what the file has: the server says where they part.
        Err(StoreError::Diverged(_)) => {
            known.retain(|device, end| ends.get(device) == Some(end));
            store.entries_after(&job.key, &known)
        }
        entries => entries,
    }?;
    let mut tails = BTreeMap::new();
    for device in forked {
        let in_file: Vec<&Entry> = entries.iter().filter(|entry| origin(&entry.device) == device).collect();
        let known = entries_there(server, job, device, &in_file)?;
        let mut there = there.iter().filter(|(book, _)| origin(book) == device);
        let ours = there.all(|(_, there)| there.may_add());
        left += if ours { 0 } else { (in_file.len() - known.len()) as u64 };
        tails.insert(device, ours.then(|| Tails::new(device, known, &in_file)));
    }
    let mut sent = 0;
    for batch in batches(&sending(&entries, &mut tails)) {
        sent += add(server, job, batch)?;
    }
    let all = known.values().map(|(seq, _)| seq).sum::<u64>() + entries.len() as u64;
    Ok(Pushed { sent, left, already: all - sent - left })
}

/// The books of the file, by what the office has of them.
struct Parted<'b> {
    /// Up to which entry it has each.
    known: Heads,
    /// Devices whose books have to be compared entry by entry.
    forked: BTreeSet<&'b str>,
    /// Entries that other logins would have to add.
    left: u64,
}

fn parted<'b>(ends: &'b Heads, there: &BTreeMap<String, There>) -> Parted<'b> {
    let forked = ends.keys().map(String::as_str).filter(|book| origin(book) != *book).map(origin).collect();
    let mut parted = Parted { known: Heads::new(), forked, left: 0 };
    for (book, (seq, hash)) in ends {
        let Some(there) = there.get(book).filter(|_| !parted.forked.contains(origin(book))) else { continue };
        let last = there.books.iter().map(|(last, _)| *last).max().unwrap_or_default();
        let known = match there.books.as_slice() {
            // The office may be ahead of a file that was restored from a backup.
            _ if there.has_newest => Some((*seq, hash.clone())),
            _ if !there.may_add() => {
                parted.left += seq.saturating_sub(last);
                Some((*seq, hash.clone()))
            }
            [(last, Some(last_hash))] if (1..*seq).contains(last) => Some((*last, last_hash.clone())),
            // Both have that number, and not the same entry: the server says which is the first.
            [_] => None,
            _ => {
                parted.forked.insert(book.as_str());
                None
            }
        };
        parted.known.extend(known.map(|end| (book.clone(), end)));
    }
    parted
}

/// The entries that are sent, each with its book; those of a device that forked by its tails, where the login may add to them.
fn sending<'e>(entries: &'e [Entry], tails: &mut BTreeMap<&str, Option<Tails<'e>>>) -> Vec<Sending<'e>> {
    let place = |entry: &'e Entry| match tails.get_mut(origin(&entry.device)) {
        None => Some(Sending { entry, book: Arc::clone(&entry.device), begins_tail: false }),
        Some(tails) => {
            let Place { book, begins } = tails.as_mut()?.place(entry)?;
            Some(Sending { entry, book, begins_tail: begins })
        }
    };
    entries.iter().filter_map(place).collect()
}

/// What the office has of each book of the file; nothing of those of whose device it has none.
fn there(server: &mut Server, job: &StoredJob, ends: &Heads) -> Result<BTreeMap<String, There>, OfficeError> {
    let books: Vec<&str> = ends.keys().map(String::as_str).collect();
    let numbers: Vec<i64> = ends.values().map(|(seq, _)| *seq as i64).collect();
    let hashes: Vec<&str> = ends.values().map(|(_, hash)| hash.as_str()).collect();
    let rows = server.rows(
        "SELECT of_book, has, seq, hash FROM cladlog.books_there($1, $2, $3, $4, $5)",
        &[&job.key, &crew(&job.device), &books, &numbers, &hashes],
    )?;
    let mut all: BTreeMap<String, There> = BTreeMap::new();
    let mut read = || {
        for row in &rows {
            let there = all.entry(row.try_get(0)?).or_default();
            there.has_newest = row.try_get(1)?;
            there.books.push((row.try_get::<_, i64>(2)?.max(0) as u64, row.try_get(3)?));
        }
        Ok(())
    };
    let read: Result<(), postgres::Error> = read();
    read.map_err(|error| OfficeError::of(&server.place, &error))?;
    Ok(all)
}

/// Which entries of a device the office has.
fn entries_there(
    server: &mut Server,
    job: &StoredJob,
    device: &str,
    entries: &[&Entry],
) -> Result<Vec<Known>, OfficeError> {
    let numbers: Vec<i64> = entries.iter().map(|entry| entry.seq as i64).collect();
    let hashes: Vec<&str> = entries.iter().map(|entry| entry.hash.as_str()).collect();
    let query = "SELECT hash, book, is_end FROM cladlog.entries_there($1, $2, $3, $4)";
    let rows = server.rows(query, &[&job.key, &device, &numbers, &hashes])?;
    let read =
        |row: &postgres::Row| Ok(Known { hash: row.try_get(0)?, book: row.try_get(1)?, is_end: row.try_get(2)? });
    let read: Result<_, postgres::Error> = rows.iter().map(read).collect();
    read.map_err(|error| OfficeError::of(&server.place, &error))
}

/// Adds a batch, in one transaction; gives how many of it were new.
fn add(server: &mut Server, job: &StoredJob, batch: &[Sending<'_>]) -> Result<u64, OfficeError> {
    let books: Vec<&str> = batch.iter().map(|sending| &*sending.book).collect();
    let lines: Vec<&str> = batch.iter().map(|sending| sending.entry.line.as_str()).collect();
    let hashes: Vec<&str> = batch.iter().map(|sending| sending.entry.hash.as_str()).collect();
    let own = crew(&job.device);
    let added: i64 =
        server.one("SELECT cladlog.add($1, $2, $3, $4, $5)", &[&job.key, &own, &books, &lines, &hashes])?;
    Ok(added.max(0) as u64)
}

/// Entries in their order, parted into batches.
fn batches<'b, 'e>(sending: &'b [Sending<'e>]) -> Vec<&'b [Sending<'e>]> {
    let (mut all, mut from, mut bytes) = (Vec::new(), 0, 0);
    for (place, Sending { entry, begins_tail, .. }) in sending.iter().enumerate() {
        let full = place - from == BATCH || bytes + entry.line.len() > BATCH_BYTES;
        if place > from && (full || *begins_tail) {
            all.push(&sending[from..place]);
            (from, bytes) = (place, 0);
        }
        bytes += entry.line.len();
    }
    if from < sending.len() {
        all.push(&sending[from..]);
    }
    all
}
