//! A transaction under way: what is appended, and the read tables brought along.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension, params};

use super::entry::{Draft, Entry, NO_PREVIOUS};
use super::store::{ReadSide, StoreFault, StoredJob, entries, fault_of, jobs};

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
    /// [`StoreFault`].
    pub fn jobs(&self) -> Result<Vec<StoredJob>, StoreFault> {
        jobs(self.transaction).map_err(|error| fault_of(self.path, &error))
    }

    /// The entries of a job, checked.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn entries(&self, job: &str) -> Result<Vec<Entry>, StoreFault> {
        entries(self.transaction, self.path, job)
    }

    /// Lists a new job, or one of the same key again after a rebuild.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn list_job(&self, job: &StoredJob) -> Result<(), StoreFault> {
        self.transaction
            .execute(
                "INSERT OR REPLACE INTO job_line (job, name, device, rehearsal) VALUES (?1, ?2, ?3, ?4)",
                params![job.key, job.name, job.device, i64::from(job.rehearsal)],
            )
            .map(|_| ())
            .map_err(|error| fault_of(self.path, &error))
    }

    /// Appends an entry to the book of `device`.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn append(&self, draft: Draft, device: &str) -> Result<Entry, StoreFault> {
        let failed = |error: rusqlite::Error| fault_of(self.path, &error);
        let last: Option<(i64, String)> = self
            .transaction
            .query_row("SELECT seq, hash FROM entry WHERE device = ?1 ORDER BY seq DESC LIMIT 1", [device], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })
            .optional()
            .map_err(failed)?;
        let (seq, prev) = last.map_or((1, NO_PREVIOUS.to_owned()), |(seq, hash)| (seq as u64 + 1, hash));
        let entry = Entry::seal(draft, device, seq, &prev)
            .map_err(|fault| StoreFault::Failed { path: self.path.to_owned(), why: fault.to_string() })?;
        self.insert(&entry)?;
        Ok(entry)
    }

    /// Files a sealed entry as it is.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn insert(&self, entry: &Entry) -> Result<(), StoreFault> {
        let failed = |error: rusqlite::Error| fault_of(self.path, &error);
        self.transaction
            .prepare_cached("INSERT INTO entry (job, device, seq, line, hash) VALUES (?1, ?2, ?3, ?4, ?5)")
            .and_then(|mut statement| {
                statement.execute(params![entry.job, entry.device, entry.seq as i64, entry.line, entry.hash])
            })
            .map_err(failed)?;
        self.log_line(entry, self.transaction.last_insert_rowid())
    }

    fn log_line(&self, entry: &Entry, place: i64) -> Result<(), StoreFault> {
        self.transaction
            .prepare_cached(
                "INSERT INTO log_line (place, job, id, happened_at, recorded_at, by_whom, kind, subject, late)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            )
            .and_then(|mut statement| {
                statement.execute(params![
                    place,
                    entry.job,
                    entry.id(),
                    crate::moment::rfc3339(&entry.happened_at),
                    crate::moment::rfc3339(&entry.recorded_at),
                    entry.by,
                    entry.body.kind(),
                    entry.body.subject(),
                    i64::from(entry.is_late()),
                ])
            })
            .map(|_| ())
            .map_err(|error| fault_of(self.path, &error))
    }

    /// Writes the read tables of a job anew, all but the log lines.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn replace_read_side(&self, job: &str, side: &ReadSide) -> Result<(), StoreFault> {
        let write = || -> rusqlite::Result<()> {
            let tx = self.transaction;
            tx.execute("UPDATE log_line SET struck_by = NULL WHERE job = ?1 AND struck_by IS NOT NULL", [job])?;
            for (id, by) in &side.struck {
                tx.execute("UPDATE log_line SET struck_by = ?2 WHERE id = ?1", params![id, by])?;
            }
            tx.execute("DELETE FROM hold_line WHERE job = ?1", [job])?;
            for row in &side.holds {
                tx.prepare_cached("INSERT INTO hold_line (job, hold, subject, state) VALUES (?1, ?2, ?3, ?4)")?
                    .execute(params![job, row.hold, row.subject, row.state])?;
            }
            tx.execute("DELETE FROM defect_line WHERE job = ?1", [job])?;
            for row in &side.defects {
                tx.prepare_cached(
                    "INSERT INTO defect_line (job, id, subject, state, what) VALUES (?1, ?2, ?3, ?4, ?5)",
                )?
                .execute(params![job, row.id, row.subject, row.state, row.what])?;
            }
            Ok(())
        };
        write().map_err(|error| fault_of(self.path, &error))
    }

    /// Empties the read tables and files every entry's log line again.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn relist_log(&self) -> Result<(), StoreFault> {
        let failed = |error: rusqlite::Error| fault_of(self.path, &error);
        self.transaction
            .execute_batch(
                "DELETE FROM job_line; DELETE FROM log_line; DELETE FROM hold_line; DELETE FROM defect_line;",
            )
            .map_err(failed)?;
        let rows: Vec<(i64, String, String)> = self
            .transaction
            .prepare("SELECT place, line, hash FROM entry ORDER BY place")
            .and_then(|mut statement| {
                statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?.collect()
            })
            .map_err(failed)?;
        for (place, line, hash) in rows {
            let entry = Entry::open(line, &hash).map_err(|fault| StoreFault::Damaged {
                path: self.path.to_owned(),
                id: format!("in place {place}"),
                what: fault.to_string(),
            })?;
            self.log_line(&entry, place)?;
        }
        Ok(())
    }

    /// The keys of all jobs that have entries, whether listed or not.
    ///
    /// # Errors
    /// [`StoreFault`].
    pub fn jobs_with_entries(&self) -> Result<Vec<String>, StoreFault> {
        self.transaction
            .prepare("SELECT DISTINCT job FROM entry ORDER BY job")
            .and_then(|mut statement| statement.query_map([], |row| row.get(0))?.collect())
            .map_err(|error| fault_of(self.path, &error))
    }
}
