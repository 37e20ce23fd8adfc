//! Following new entries: replays the jobs that changed and writes their read tables. It may be stopped at any moment
//! and started twice; what it wrote is the same whenever and however often it is made again.

use std::collections::HashMap;
use std::time::Duration;

use postgres::fallible_iterator::FallibleIterator;

use super::books::{OfficeJob, newer};
use super::error::OfficeError;
use super::read_tables::{PROGRAM, Replayed, forget, open, write};
use super::schema::MAKE_READ_TABLES;
use super::server::Server;
use crate::day::Book;
use crate::moment::Moment;
use crate::record::origin;

/// So many entries of open books are kept in hand: a job that goes on is not read from its beginning again.
const IN_HAND: usize = 200_000;

/// The worker of an office.
pub struct Worker {
    server: Server,
    /// Books in hand, by the id of the job, with when each was last used.
    books: HashMap<i32, (Book, u64)>,
    rounds: u64,
}

/// Jobs that changed, or whose lines are out of date or made by another program.
const STALE: &str = "SELECT j.id, j.key, j.entries
    FROM cladlog.job j LEFT JOIN cladlog_read.replayed r ON r.job = j.id
    WHERE r.job IS NULL OR r.entries <> j.entries OR r.program <> $1
        OR r.failed IS NULL AND NOT EXISTS (
            SELECT FROM cladlog_read.board b WHERE b.job = j.id AND $2::text::timestamptz < b.until
        )
    ORDER BY j.id";

impl Worker {
    /// Begins; makes the read tables where they were dropped.
    ///
    /// # Errors
    /// [`OfficeError`], as when the login is neither the owner's nor of the role `worker`.
    pub fn start(mut server: Server) -> Result<Self, OfficeError> {
        server.run(MAKE_READ_TABLES)?;
        server.run("LISTEN cladlog_entry")?;
        Ok(Self { server, books: HashMap::new(), rounds: 0 })
    }

    /// Brings every job up to date; gives the number of jobs that were replayed.
    ///
    /// # Errors
    /// [`OfficeError`]; what was written stays.
    pub fn catch_up(&mut self, now: Moment) -> Result<usize, OfficeError> {
        self.rounds += 1;
        let rows = self.server.rows(STALE, &[&PROGRAM, &now.to_string()])?;
        let jobs: Result<Vec<OfficeJob>, postgres::Error> = rows.iter().map(OfficeJob::read).collect();
        let jobs = jobs.map_err(|error| OfficeError::of(&self.server.place, &error))?;
        for job in &jobs {
            let (entries, found) = self.replay(job, now)?;
            let place = self.server.place.clone();
            let written = || {
                let mut work = self.server.client.transaction()?;
                write(&mut work, job.id, entries, &found)?;
                work.commit()
            };
            let mut written = written;
            written().map_err(|error| OfficeError::of(&place, &error))?;
            self.let_go();
        }
        self.forget_deleted()?;
        Ok(jobs.len())
    }

    /// Waits until somebody adds entries, at most so long.
    ///
    /// # Errors
    /// [`OfficeError::Unreachable`] when the server went away.
    pub fn wait(&mut self, length: Duration) -> Result<(), OfficeError> {
        let mut told = self.server.client.notifications();
        let heard = told.timeout_iter(length).next();
        while let Ok(Some(_)) = told.iter().next() {}
        heard.map(|_| ()).map_err(|error| OfficeError::of(&self.server.place, &error))
    }

    /// Replays a job, from where the book in hand ends; gives how many entries that were.
    fn replay(&mut self, job: &OfficeJob, now: Moment) -> Result<(i64, Result<Replayed, String>), OfficeError> {
        let in_hand = self.books.remove(&job.id);
        let forked = |book: &Book| book.heads().keys().any(|name| origin(name) != name);
        let book = match in_hand.filter(|(book, _)| !forked(book)) {
            Some((mut book, _)) => {
                let entries = newer(&mut self.server, job, book.heads())?;
                // A book that can't go on is read again, and says then what is wrong.
                match entries.map(|entries| book.refresh(entries)) {
                    Ok(Ok(())) => Ok(book),
                    _ => open(&mut self.server, job)?,
                }
            }
            None => open(&mut self.server, job)?,
        };
        Ok(match book {
            Ok(book) => {
                let entries = book.entries.len() as i64;
                let found = Replayed::of(&book, now).map_err(|why| why.to_string());
                self.books.insert(job.id, (book, self.rounds));
                (entries, found)
            }
            Err(why) => (job.entries, Err(why)),
        })
    }

    /// Lets the books go that were used longest ago.
    fn let_go(&mut self) {
        let mut kept: usize = self.books.values().map(|(book, _)| book.entries.len()).sum();
        while kept > IN_HAND && self.books.len() > 1 {
            let Some(oldest) = self.books.iter().min_by_key(|(_, (_, used))| *used).map(|(job, _)| *job) else {
                return;
            };
            kept -= self.books.remove(&oldest).map_or(0, |(book, _)| book.entries.len());
        }
    }

    /// Removes what is left of jobs that were deleted.
    fn forget_deleted(&mut self) -> Result<(), OfficeError> {
        let gone =
            "SELECT r.job FROM cladlog_read.replayed r LEFT JOIN cladlog.job j ON j.id = r.job WHERE j.id IS NULL";
        let gone: Vec<i32> = self.server.rows(gone, &[])?.iter().filter_map(|row| row.try_get(0).ok()).collect();
        if gone.is_empty() {
            return Ok(());
        }
        self.books.retain(|job, _| !gone.contains(job));
        let place = self.server.place.clone();
        let mut written = || {
            let mut work = self.server.client.transaction()?;
            forget(&mut work, &gone)?;
            work.commit()
        };
        written().map_err(|error| OfficeError::of(&place, &error))
    }
}
