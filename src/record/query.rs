//! Reading the file: jobs, entries, the log; every entry is checked as it is read.

use std::collections::HashMap;
use std::path::Path;

use rayon::prelude::*;

use super::chain::{Heads, Link, check_chain_after};
use super::entry::{Entry, in_order};
use super::error::StoreError;
use super::fork::{Fork, assign_books, forks};
use super::id::{EntryId, is_fork, origin};
use super::rows::{self, Row, devices, hash_of, head, rows_after, struck};
use super::store::Store;
use super::tables::{CommandRow, LogRow, ReadTables, SentRow, StoredJob};

impl Store {
    /// The jobs of the file, by key.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn jobs(&self) -> Result<Vec<StoredJob>, StoreError> {
        self.ask(rows::jobs)
    }

    /// Where each book of a job ends, as the file says it.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn heads(&self, job: &str) -> Result<Heads, StoreError> {
        self.ask(|file| {
            let books = devices(file, job)?.into_iter();
            let ends = books.map(|device| Ok(head(file, &device)?.map(|end| (device, end))));
            ends.filter_map(Result::transpose).collect()
        })
    }

    /// The entries of a job, each checked against its hash and its chain, in the order of
    /// [`in_order`](super::in_order).
    ///
    /// # Errors
    /// [`StoreError::Damaged`] naming the first entry that does not hold.
    pub fn entries(&self, job: &str) -> Result<Vec<Entry>, StoreError> {
        self.entries_after(job, &Heads::new())
    }

    /// The entries of every job, each checked as [`Store::entries`] does.
    ///
    /// # Errors
    /// As [`Store::entries`].
    pub fn all_entries(&self) -> Result<Vec<Entry>, StoreError> {
        let mut entries = Vec::new();
        for job in self.jobs()? {
            entries.extend(self.entries(&job.key)?);
        }
        Ok(entries)
    }

    /// The entries of a job that came after `heads`, checked, and against the chains that end there.
    ///
    /// # Errors
    /// As [`Store::entries`]; also when what `heads` ends with is no longer in the file.
    pub fn entries_after(&self, job: &str, heads: &Heads) -> Result<Vec<Entry>, StoreError> {
        let devices = self.ask(|file| devices(file, job))?;
        if devices.iter().any(|device| is_fork(device)) {
            return self.forked_after(job, heads, &devices);
        }
        for (device, (seq, hash)) in heads {
            if self.ask(|file| hash_of(file, device, *seq))?.as_ref() != Some(hash) {
                return Err(StoreError::Diverged(self.path.clone()));
            }
        }
        let mut entries = Vec::new();
        for device in &devices {
            entries.extend(self.book_after(job, device, heads.get(device).map_or(0, |(seq, _)| *seq))?);
        }
        self.check_chains(heads, &entries)?;
        in_order(&mut entries);
        Ok(entries)
    }

    /// The same where a book forked: the book of an entry follows from all of them.
    fn forked_after(&self, job: &str, heads: &Heads, devices: &[String]) -> Result<Vec<Entry>, StoreError> {
        let (mut entries, mut filed) = (Vec::new(), Vec::new());
        for device in devices {
            let opened = self.book_after(job, device, 0)?;
            filed.extend(opened.iter().map(|_| device.as_str()));
            entries.extend(opened);
        }
        assign_books(&mut entries).map_err(|error| self.damaged(String::new(), error.to_string()))?;
        if let Some((entry, device)) = entries.iter().zip(filed).find(|(entry, device)| *entry.device != **device) {
            let what = format!("it is filed in the wrong place, in book {device}");
            return Err(self.damaged(entry.id().to_string(), what));
        }
        self.check_chains(&Heads::new(), &entries)?;
        for (device, (seq, hash)) in heads {
            let there = |entry: &Entry| *entry.device == **device && entry.seq == *seq && entry.hash == *hash;
            if !entries.iter().any(there) {
                return Err(StoreError::Diverged(self.path.clone()));
            }
        }
        entries.retain(|entry| heads.get(&*entry.device).is_none_or(|(seq, _)| entry.seq > *seq));
        in_order(&mut entries);
        Ok(entries)
    }

    /// The entries of one book that come after a number, each checked against its hash.
    fn book_after(&self, job: &str, device: &str, seq: u64) -> Result<Vec<Entry>, StoreError> {
        open_all(self.ask(|file| rows_after(file, job, device, seq))?, &self.path, job)
    }

    fn check_chains(&self, heads: &Heads, entries: &[Entry]) -> Result<(), StoreError> {
        let first = check_chain_after(heads, entries.iter().map(Link::from)).into_iter().next();
        first.map_or(Ok(()), |error| Err(self.damaged(error.id, error.what)))
    }

    fn damaged(&self, id: String, what: String) -> StoreError {
        StoreError::Damaged { path: self.path.clone(), id, what }
    }

    /// The newest lines of the log of a job, oldest first, all of them without a limit; and every fork of the record.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn log(&self, job: &str, limit: Option<u32>) -> Result<(Vec<LogRow>, Vec<Fork>), StoreError> {
        let devices = self.ask(|file| devices(file, job))?;
        let mut entries = match (limit, devices.as_slice()) {
            // One book: the file itself counts off the newest, so that the log of a long job opens at once.
            (Some(limit), [device]) => {
                let last = self.ask(|file| head(file, device))?.map_or(0, |(seq, _)| seq);
                self.book_after(job, device, last.saturating_sub(u64::from(limit)))?
            }
            _ => self.entries(job)?,
        };
        // One book has no fork; of several, all were read.
        let forks = forks(&entries);
        let surplus = entries.len().saturating_sub(limit.map_or(usize::MAX, |limit| limit as usize));
        entries.drain(..surplus);
        let struck = self.ask(|file| struck(file, job))?;
        let parsed = struck.iter().filter_map(|(id, by)| Some((id.parse().ok()?, by.parse().ok()?)));
        let mut struck: HashMap<EntryId, EntryId> = parsed.collect();
        let row = |entry: Entry| LogRow { struck_by: struck.remove(&entry.id()), entry, changes: None };
        Ok((entries.into_iter().map(row).collect(), forks))
    }

    /// What this file noted of the commands that wrote a book: those that recorded several entries, and the undos.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn commands(&self, device: &str) -> Result<Vec<CommandRow>, StoreError> {
        self.ask(|file| rows::commands(file, device))
    }

    /// What a phone sent under this id, where it recorded something.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn sent(&self, phone: &str, request: &str) -> Result<Option<SentRow>, StoreError> {
        self.ask(|file| rows::sent(file, phone, request))
    }

    /// The keys of all jobs that have entries, whether listed or not.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn jobs_with_entries(&self) -> Result<Vec<String>, StoreError> {
        let find = "SELECT DISTINCT job FROM entry ORDER BY job";
        self.ask(|file| file.prepare(find)?.query_map([], |row| row.get(0))?.collect())
    }

    /// The read tables of a job, to be compared with what its entries come to.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn read_tables(&self, job: &str) -> Result<ReadTables, StoreError> {
        self.ask(|file| rows::read_tables(file, job))
    }
}

impl Row {
    fn open(self, path: &Path, job: &str) -> Result<Entry, StoreError> {
        let id = format!("{}-{}", self.device, self.seq);
        let damaged = |what: String| StoreError::Damaged { path: path.to_owned(), id: id.clone(), what };
        let entry = Entry::open(self.line, &self.hash).map_err(|error| damaged(error.to_string()))?;
        if entry.job != job || *entry.device != *origin(&self.device) || i64::try_from(entry.seq) != Ok(self.seq) {
            return Err(damaged("it is stored under the wrong job, device or number".into()));
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
