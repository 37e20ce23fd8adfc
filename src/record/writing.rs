//! A transaction under way: what is appended, and the read tables brought along.

use std::collections::BTreeMap;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension, params};

use super::chain::Heads;
use super::entry::{Draft, Entry, NO_PREVIOUS};
use super::error::{StoreError, error_of};
use super::id::{EntryId, continued};
use super::query::{devices, entries_after, head, jobs};
use super::tables::{DefectRow, HoldRow, ReadTables, StoredJob};

/// A transaction under way.
pub struct Writing<'w> {
    transaction: &'w Connection,
    path: &'w Path,
}

impl<'w> Writing<'w> {
    pub(super) fn new(transaction: &'w Connection, path: &'w Path) -> Self {
        Self { transaction, path }
    }

    pub(super) fn connection(&self) -> &Connection {
        self.transaction
    }

    pub(super) fn file(&self) -> &Path {
        self.path
    }

    /// The jobs of the file.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn jobs(&self) -> Result<Vec<StoredJob>, StoreError> {
        jobs(self.transaction).map_err(|error| error_of(self.path, &error))
    }

    /// The entries of a job, checked.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn entries(&self, job: &str) -> Result<Vec<Entry>, StoreError> {
        self.entries_after(job, &Heads::new())
    }

    /// The entries of a job that came after `heads`, checked, and against the chains that end there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn entries_after(&self, job: &str, heads: &Heads) -> Result<Vec<Entry>, StoreError> {
        entries_after(self.transaction, self.path, job, heads)
    }

    /// Lists a new job, or one of the same key again after a rebuild.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn list_job(&self, job: &StoredJob) -> Result<(), StoreError> {
        self.transaction
            .execute(
                "INSERT OR REPLACE INTO job_line (job, name, device, rehearsal) VALUES (?1, ?2, ?3, ?4)",
                params![job.key, job.name, job.device, i64::from(job.rehearsal)],
            )
            .map(|_| ())
            .map_err(|error| error_of(self.path, &error))
    }

    /// Appends an entry to the book of `device`.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn append(&self, draft: Draft, device: &str) -> Result<Entry, StoreError> {
        let last = head(self.transaction, device).map_err(|error| error_of(self.path, &error))?;
        let (seq, prev) = last.map_or((1, NO_PREVIOUS.to_owned()), |(seq, hash)| (seq + 1, hash));
        let seen = self.seen(&draft.job, device).map_err(|error| error_of(self.path, &error))?;
        let entry = Entry::finalize(draft, device, seq, &prev, seen)
            .map_err(|error| StoreError::Failed { path: self.path.to_owned(), why: error.to_string() })?;
        self.insert(&entry)?;
        Ok(entry)
    }

    /// How far the file holds every other book of a job.
    fn seen(&self, job: &str, device: &str) -> rusqlite::Result<BTreeMap<String, u64>> {
        let mut seen = BTreeMap::new();
        for other in devices(self.transaction, job)?.into_iter().filter(|other| other != device) {
            if let Some((seq, _)) = head(self.transaction, &other)? {
                seen.insert(other, seq);
            }
        }
        Ok(seen)
    }

    /// The job whose book a device writes in this file.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn job_of(&self, device: &str) -> Result<Option<String>, StoreError> {
        self.transaction
            .query_row("SELECT job FROM entry WHERE device = ?1 LIMIT 1", [device], |row| row.get(0))
            .optional()
            .map_err(|error| error_of(self.path, &error))
    }

    /// Inserts an entry as it is.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn insert(&self, entry: &Entry) -> Result<(), StoreError> {
        self.transaction
            .prepare_cached("INSERT INTO entry (job, device, seq, line, hash) VALUES (?1, ?2, ?3, ?4, ?5)")
            .and_then(|mut statement| {
                statement.execute(params![entry.job, &*entry.device, entry.seq as i64, entry.line, entry.hash])
            })
            .map_err(|error| error_of(self.path, &error))
            .and_then(|rows| self.stored(rows))
    }

    /// Files entries of a job in the books that they are in now, each known until now by another id.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn refile(&self, moved: &[(EntryId, Entry)]) -> Result<(), StoreError> {
        let failed = |error: rusqlite::Error| error_of(self.path, &error);
        let mut update = self
            .transaction
            .prepare_cached("UPDATE entry SET device = ?1 WHERE device = ?2 AND seq = ?3")
            .map_err(failed)?;
        // By way of names that nothing bears: two tails may change places.
        for (from, entry) in moved {
            update.execute(params![format!("{}!", entry.device), &*from.device, from.seq as i64]).map_err(failed)?;
        }
        for (_, entry) in moved {
            update.execute(params![&*entry.device, format!("{}!", entry.device), entry.seq as i64]).map_err(failed)?;
        }
        Ok(())
    }

    /// Begins a new book for a job, to be gone on with; gives its id.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn begin_book(&self, job: &StoredJob) -> Result<String, StoreError> {
        let device = continued(&job.device);
        self.list_job(&StoredJob { device: device.clone(), ..job.clone() })?;
        Ok(device)
    }

    /// Writes the row of a hold point on a subject.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put_hold(&self, job: &str, row: &HoldRow) -> Result<(), StoreError> {
        let put = "INSERT OR REPLACE INTO hold_line (job, hold, subject, state) VALUES (?1, ?2, ?3, ?4)";
        self.put(put, &[job, &row.hold, &row.subject, &row.state])
    }

    /// Writes the row of a defect.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn put_defect(&self, job: &str, row: &DefectRow) -> Result<(), StoreError> {
        let put = "INSERT OR REPLACE INTO defect_line (job, id, subject, state, what) VALUES (?1, ?2, ?3, ?4, ?5)";
        self.put(put, &[job, &row.id, &row.subject, &row.state, &row.what])
    }

    fn put(&self, statement: &str, values: &[&str]) -> Result<(), StoreError> {
        self.transaction
            .prepare_cached(statement)
            .and_then(|mut statement| statement.execute(rusqlite::params_from_iter(values)))
            .map_err(|error| error_of(self.path, &error))
            .and_then(|rows| self.stored(rows))
    }

    /// Insists that a row was stored: a trigger may drop it without an error.
    fn stored(&self, rows: usize) -> Result<(), StoreError> {
        let why = || "a row was not stored: nothing was written".to_owned();
        if rows == 1 { Ok(()) } else { Err(StoreError::Failed { path: self.path.to_owned(), why: why() }) }
    }

    /// Rebuilds the read tables of a job.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn replace_read_tables(&self, job: &str, tables: &ReadTables) -> Result<(), StoreError> {
        for table in ["struck_line", "hold_line", "defect_line"] {
            self.transaction
                .execute(&format!("DELETE FROM {table} WHERE job = ?1"), [job])
                .map_err(|error| error_of(self.path, &error))?;
        }
        for (id, by) in &tables.struck {
            self.put("INSERT INTO struck_line (job, id, struck_by) VALUES (?1, ?2, ?3)", &[job, id, by])?;
        }
        tables.holds.iter().try_for_each(|row| self.put_hold(job, row))?;
        tables.defects.iter().try_for_each(|row| self.put_defect(job, row))
    }

    /// Empties the list of jobs and every read table.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn empty_read_tables(&self) -> Result<(), StoreError> {
        self.transaction
            .execute_batch(
                "DELETE FROM job_line; DELETE FROM struck_line; DELETE FROM hold_line; DELETE FROM defect_line;",
            )
            .map_err(|error| error_of(self.path, &error))
    }

    /// The keys of all jobs that have entries, whether listed or not.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn jobs_with_entries(&self) -> Result<Vec<String>, StoreError> {
        self.transaction
            .prepare("SELECT DISTINCT job FROM entry ORDER BY job")
            .and_then(|mut statement| statement.query_map([], |row| row.get(0))?.collect())
            .map_err(|error| error_of(self.path, &error))
    }
}
