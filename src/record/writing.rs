//! A transaction under way: what is appended, and the read tables brought along.

use std::ops::Deref;

use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

use super::entry::Entry;
use super::error::{StoreError, error_of};
use super::home;
use super::id::{EntryId, continued};
use super::store::Store;
use super::tables::{CommandRow, DefectRow, HoldRow, ReadTables, SentRow, StoredJob};

impl Store {
    /// Runs `work` in one transaction that no other writer can enter; commits when it succeeds, and carries it into the file.
    ///
    /// What it appended is durable when this returns, in the file that the path leads to.
    ///
    /// # Errors
    /// As [`Store::append`].
    pub fn write<T, E: From<StoreError>>(
        &mut self,
        work: impl FnOnce(&mut Writing<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let value = self.append(work)?;
        self.carry()?;
        Ok(value)
    }

    /// The same without carrying it: it is durable in the log beside the file, and goes into the file with the next
    /// [`carry`](Store::carry).
    ///
    /// # Errors
    /// Whatever `work` gives, after rolling back; or [`StoreError`] turned into it. [`StoreError::Replaced`] may come
    /// after the commit, where the file was replaced in that moment.
    pub fn append<T, E: From<StoreError>>(
        &mut self,
        work: impl FnOnce(&mut Writing<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let begun = Transaction::new_unchecked(&self.connection, TransactionBehavior::Immediate);
        let transaction = begun.map_err(|error| error_of(&self.path, &error))?;
        // Nobody else can write now, so that two readings of the file must agree.
        self.in_place()?;
        // Where it lies does not change while it is open: that is what the check is for.
        if !self.awake {
            self.ask(|file| home::wake(file, &self.path))?;
        }
        let value = work(&mut Writing(self))?;
        transaction.commit().map_err(|error| error_of(&self.path, &error))?;
        self.awake = true;
        if !self.place.leads_there() {
            return Err(self.place.let_go(&self.connection).into());
        }
        self.place.remember(&self.connection);
        self.ahead.set(true);
        Ok(value)
    }

    /// Carries what was appended from the log into the file, so that whoever copies the file alone has all of it. That
    /// flushes the file and, with the next commit, the log once more: nobody who waits for a record has to wait for it.
    /// Where a reader is in the way, the next one does it.
    ///
    /// # Errors
    /// [`StoreError::Replaced`].
    pub fn carry(&self) -> Result<(), StoreError> {
        if self.ahead.take() {
            self.in_place()?;
            // What can't be carried stays in the log, as durable as before.
            let _ = self.connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(()));
            self.place.remember(&self.connection);
        }
        Ok(())
    }
}

/// A transaction under way: what is read in it is what the file holds until it ends.
pub struct Writing<'w>(&'w Store);

impl Deref for Writing<'_> {
    type Target = Store;

    fn deref(&self) -> &Store {
        self.0
    }
}

impl Writing<'_> {
    /// Lists a new job, or one of the same key again after a rebuild.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn list_job(&self, job: &StoredJob) -> Result<(), StoreError> {
        let put = "INSERT OR REPLACE INTO job_line (job, name, device, rehearsal) VALUES (?1, ?2, ?3, ?4)";
        self.ask(|file| file.execute(put, params![job.key, job.name, job.device, i64::from(job.rehearsal)])).map(|_| ())
    }

    /// The job whose book a device writes in this file.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn job_of(&self, device: &str) -> Result<Option<String>, StoreError> {
        let find = "SELECT job FROM entry WHERE device = ?1 LIMIT 1";
        self.ask(|file| file.query_row(find, [device], |row| row.get(0)).optional())
    }

    /// Inserts an entry as it is.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn insert(&self, entry: &Entry) -> Result<(), StoreError> {
        let put = "INSERT INTO entry (job, device, seq, line, hash) VALUES (?1, ?2, ?3, ?4, ?5)";
        let values = params![entry.job, &*entry.device, entry.seq as i64, entry.line, entry.hash];
        self.stored(self.ask(|file| file.prepare_cached(put)?.execute(values))?)
    }

    /// Files entries of a job in the books that they are in now, each known until now by another id.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn refile(&self, moved: &[(EntryId, Entry)]) -> Result<(), StoreError> {
        self.ask(|file| {
            // What was noted of the commands goes along.
            for update in [
                "UPDATE entry SET device = ?1 WHERE device = ?2 AND seq = ?3",
                "UPDATE command_line SET device = ?1 WHERE device = ?2 AND first = ?3",
            ] {
                let mut update = file.prepare_cached(update)?;
                // By way of names that nothing bears: two tails may change places.
                for (from, entry) in moved {
                    update.execute(params![format!("{}!", entry.device), &*from.device, from.seq as i64])?;
                }
                for (_, entry) in moved {
                    update.execute(params![&*entry.device, format!("{}!", entry.device), entry.seq as i64])?;
                }
            }
            Ok(())
        })
    }

    /// Notes that one command recorded these entries of a book, or that it was an undo.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn note_command(&self, device: &str, command: &CommandRow) -> Result<(), StoreError> {
        let CommandRow { first, last, undo } = command;
        let insert = "INSERT INTO command_line (device, first, last, undo) VALUES (?1, ?2, ?3, ?4)";
        let values = params![device, *first as i64, *last as i64, i64::from(*undo)];
        self.stored(self.ask(|file| file.prepare_cached(insert)?.execute(values))?)
    }

    /// Notes what a phone sent, and what came of it.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn note_sent(&self, row: &SentRow) -> Result<(), StoreError> {
        let SentRow { phone, request, sha256, answer } = row;
        let insert = "INSERT INTO sent_line (phone, request, sha256, answer) VALUES (?1, ?2, ?3, ?4)";
        self.put(insert, &[phone, request, sha256, answer])
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
        let values = rusqlite::params_from_iter(values);
        self.stored(self.ask(|file| file.prepare_cached(statement)?.execute(values))?)
    }

    /// Insists that a row was stored: a trigger may drop it without an error.
    fn stored(&self, rows: usize) -> Result<(), StoreError> {
        let why = || "a row was not stored: nothing was written".to_owned();
        if rows == 1 { Ok(()) } else { Err(StoreError::Failed { path: self.path.clone(), why: why() }) }
    }

    /// Rebuilds the read tables of a job.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn replace_read_tables(&self, job: &str, tables: &ReadTables) -> Result<(), StoreError> {
        for table in ["struck_line", "hold_line", "defect_line"] {
            self.ask(|file| file.execute(&format!("DELETE FROM {table} WHERE job = ?1"), [job]))?;
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
        let tables = "DELETE FROM job_line; DELETE FROM struck_line; DELETE FROM hold_line; DELETE FROM defect_line;";
        self.ask(|file| file.execute_batch(tables))
    }
}
