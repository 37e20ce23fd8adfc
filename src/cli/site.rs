//! What every command on a job needs: the file, the job, who records, when.

use std::path::PathBuf;
use std::sync::Arc;

use chrono_tz::Tz;

use super::clock::Clock;
use super::files::unwritten;
use super::photos::keeping_bar;
use super::sentences::{on_words, recorded_lines};
use crate::atomic_file::folder_of;
use crate::cli::failure::Failure;
use crate::cli::options::Global;
use crate::cli::out::Out;
use crate::day::{Book, DecideError, ReplayError, Request};
use crate::journal::{Journal, JournalError, Recorded, RecordedEntry, Rescued};
use crate::moment::{self, Moment};
use crate::record::{Body, Store, StoreError, StoredJob};
use crate::units::number::shortened;

/// The surroundings of one run of the program.
pub struct Site<'g> {
    /// Global options.
    pub global: &'g Global,
    /// The clock.
    pub clock: Clock,
}

/// A job, opened for reading.
pub struct Opened {
    /// The file.
    pub store: Store,
    /// The job as the file lists it.
    pub stored: StoredJob,
    /// Its entries and what they come to.
    pub book: Book,
    /// Now, by the site's clocks.
    pub now: Moment,
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let machine = |what, hint: &str| Self::Machine { what, hint: Some(hint.to_owned()) };
        let what = error.to_string();
        match error {
            StoreError::Missing(_) => Self::input_hint(what, "set a job up first: cladlog job add FILE.toml"),
            StoreError::NotOurs(_) => Self::input(what),
            StoreError::Altered(_) => machine(what, "nothing in it can be trusted as it stands: restore a backup"),
            StoreError::Newer { .. } => Self::input_hint(what, "install the newer cladlog; nothing was changed"),
            StoreError::Damaged { .. } => {
                machine(what, "see the whole damage with cladlog verify; restore the file from a backup")
            }
            StoreError::ReadOnly { .. } => {
                machine(what, "get the right to write to the file and to its folder, or name another file")
            }
            StoreError::Unread { .. } => {
                machine(what, "get the right to read it, or have a backup made by who has: cladlog backup FILE")
            }
            StoreError::LogOutOfReach(path) => {
                let path = path.display();
                let hint =
                    format!("to read it, copy {path} and {path}-wal to a folder of your own and name it with --db");
                machine(what, &hint)
            }
            StoreError::Replaced(_) | StoreError::Diverged(_) => {
                machine(what, "nothing more was recorded; start the command again")
            }
            StoreError::InUse(_) => machine(
                what,
                "nothing was changed: leave walk and watch, and end whatever else uses it; then try again",
            ),
            StoreError::Busy(_) => machine(what, "nothing was written: end the other program, or try again"),
            StoreError::Failed { .. } => Self::machine(what),
        }
    }
}

impl From<DecideError> for Failure {
    fn from(error: DecideError) -> Self {
        match error {
            DecideError::Refused(refusal) => Self::Refused(refusal),
            DecideError::Input(what) => Self::input(what),
        }
    }
}

impl From<ReplayError> for Failure {
    fn from(error: ReplayError) -> Self {
        if matches!(error, ReplayError::Size(_)) { Self::input(error) } else { Self::machine(error) }
    }
}

impl From<JournalError> for Failure {
    fn from(error: JournalError) -> Self {
        match error {
            JournalError::Store(error) => error.into(),
            JournalError::Replaced { ref path, ref rescued } => Self::Machine {
                what: error.to_string(),
                hint: Some(match rescued {
                    Rescued::Saved(saved) => {
                        let (path, saved) = (path.display(), saved.display());
                        format!(
                            "what was recorded until now is in {saved}; to bring it into the file that is there now: \
                             cladlog --db {path} merge {saved}"
                        )
                    }
                    Rescued::Unsaved(why) => {
                        format!("what was recorded until now could not be saved beside it: {why}")
                    }
                }),
            },
            JournalError::Replay(error) => error.into(),
            JournalError::Decide(error) => error.into(),
            JournalError::Photo(error) => error.into(),
            JournalError::Entry(error) => Self::machine(error),
            JournalError::Merge(error) => Self::input(error),
            JournalError::JobExists(_) => Self::input(error),
        }
    }
}

impl Site<'_> {
    /// The database: `--db`, `CLADLOG_DB`, or the one in the platform's data folder.
    pub fn database(&self) -> Result<PathBuf, Failure> {
        if let Some(path) = &self.global.db {
            return Ok(path.clone());
        }
        directories::ProjectDirs::from("", "", "cladlog")
            .map(|dirs| dirs.data_dir().join("cladlog.db"))
            .ok_or_else(|| Failure::input("this system has no data folder: give the database with --db FILE"))
    }

    /// The same where it may have to be made: the platform's data folder is, if it is not there yet.
    pub fn new_database(&self) -> Result<PathBuf, Failure> {
        let path = self.database()?;
        if self.global.db.is_none() {
            let folder = folder_of(&path);
            std::fs::create_dir_all(folder).map_err(|error| unwritten(folder, &error))?;
        }
        Ok(path)
    }

    /// Opens the job for reading.
    pub fn open(&self) -> Result<Opened, Failure> {
        let store = Store::read(&self.database()?)?;
        let stored = self.pick(store.jobs()?)?;
        let book = Book::open_by(&stored.device, store.entries(&stored.key)?)?;
        let now = self.now(&book);
        Ok(Opened { store, stored, book, now })
    }

    /// Opens the job as it was at `--at`, where that is given: what happened after it is left out, what was
    /// struck stays out. A time still to come is answered by what the record holds now.
    pub fn open_as_of(&self) -> Result<Opened, Failure> {
        let mut opened = self.open()?;
        if self.global.at.is_some() {
            let at = self.at(&opened.book, opened.now)?;
            opened.book.state = opened.book.as_of(at)?.into_owned();
            opened.book.entries.retain(|entry| entry.happened_at <= at || matches!(entry.body, Body::JobAdded(_)));
            opened.now = at;
        }
        Ok(opened)
    }

    /// Opens the job for recording.
    pub fn journal(&self) -> Result<Journal, Failure> {
        let store = Store::write_to(&self.database()?)?;
        let job = self.pick(store.jobs()?)?;
        let mut journal = Journal::open(store, job)?;
        journal.set_rehearsal(self.clock.is_rehearsal());
        if self.global.clock_is_right {
            journal.trust_clock();
        }
        journal.on_progress(keeping_bar());
        Ok(journal)
    }

    /// The job that `--job` names, or the only one there is.
    pub fn pick(&self, mut jobs: Vec<StoredJob>) -> Result<StoredJob, Failure> {
        let keys: Vec<String> = jobs.iter().map(|job| job.key.clone()).collect();
        if let Some(key) = &self.global.job {
            return jobs.into_iter().find(|job| &job.key == key).ok_or_else(|| {
                let list =
                    if keys.is_empty() { "it holds none".to_owned() } else { format!("it holds {}", keys.join(", ")) };
                Failure::input(format!("there is no job '{}' in this database: {list}", shortened(key)))
            });
        }
        match jobs.len() {
            0 => Err(Failure::input_hint("this database holds no job yet", "cladlog job add FILE.toml")),
            1 => Ok(jobs.remove(0)),
            _ => Err(Failure::input(format!("which job? Give --job with one of {}", keys.join(", ")))),
        }
    }

    /// Who records: `--by`, or the only lead of the job.
    pub fn by(&self, book: &Book) -> Result<String, Failure> {
        if let Some(name) = &self.global.by {
            return Ok(name.clone());
        }
        let lead = ["lead".to_owned()];
        let people = &book.state.job.people;
        let leads: Vec<&str> = people.iter().filter(|one| one.has_any(&lead)).map(|one| one.name.as_str()).collect();
        match leads.as_slice() {
            [only] => Ok((*only).to_owned()),
            several => {
                let all = || people.iter().map(|one| one.name.as_str()).collect();
                let names: Vec<&str> = if several.is_empty() { all() } else { leads };
                Err(Failure::input(format!("who records this? Give --by with one of {}", names.join(", "))))
            }
        }
    }

    /// Now, by the clocks of a job's site.
    pub fn now(&self, book: &Book) -> Moment {
        self.clock.now().at_site(book.state.job.time_zone)
    }

    /// When it happened: `--at` by the site's clocks, or now.
    pub fn at(&self, book: &Book, now: Moment) -> Result<Moment, Failure> {
        self.at_in(book.state.job.time_zone, now)
    }

    /// The same by the clocks of a time zone, where there is no job yet.
    pub fn at_in(&self, zone: Tz, now: Moment) -> Result<Moment, Failure> {
        let read = |text: &String| moment::parse(text, now.date(), zone);
        let at = self.global.at.as_ref().map(read).transpose();
        Ok(at.map_err(|error| Failure::input(format!("--at: {error}")))?.unwrap_or(now))
    }

    /// Records a request in the job; gives what was recorded, and the book after it.
    pub fn record(&self, request: &dyn Request) -> Result<(Recorded, Arc<Book>), Failure> {
        let mut journal = self.journal()?;
        let recorded = self.record_in(&mut journal, &[request])?;
        Ok((recorded, Arc::clone(journal.book())))
    }

    /// Records requests in a journal that is open, all or none.
    pub fn record_in(&self, journal: &mut Journal, requests: &[&dyn Request]) -> Result<Recorded, Failure> {
        let now = self.now(journal.book());
        let (by, at) = (self.by(journal.book())?, self.at(journal.book(), now)?);
        Ok(journal.record_all(requests, &by, at, now)?)
    }

    /// Records a request and prints what came of it.
    pub fn record_and_print(&self, request: &dyn Request, out: &mut Out) -> Result<(), Failure> {
        let (recorded, book) = self.record(request)?;
        print(&recorded, &book, out)
    }
}

/// What was done, by the step's title or by the kind of entry.
fn act(entry: &RecordedEntry, book: &Book) -> String {
    let title = match book.entry(&entry.id).map(|entry| &entry.body) {
        Some(Body::StepDone(done)) => {
            let sequence = book.state.sequence();
            sequence.step(&done.step).map(|step| sequence.steps[step].title.to_string())
        }
        _ => None,
    };
    title.unwrap_or_else(|| entry.kind.replace('-', " "))
}

/// Prints what was recorded, and what it opened and closed.
pub fn print(recorded: &Recorded, book: &Book, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        return out.json(recorded);
    }
    let state = &book.state;
    let subjects = recorded.entries.iter().filter_map(|entry| state.subjects.index(&entry.subject));
    let mut subjects: Vec<usize> = subjects.collect();
    // Several entries may be about the same.
    subjects.dedup();
    let Some(first) = recorded.entries.first() else { return Ok(()) };
    let what = format!("{}{}", act(first, book), on_words(&state.subjects, &subjects));
    let lines = recorded_lines(recorded, &what, state, first.recorded_at);
    lines.iter().try_for_each(|line| out.wrapped(line, 4))
}
