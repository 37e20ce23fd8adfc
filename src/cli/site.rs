//! What every command on a job needs: the file, the job, who records, when.

use std::cell::OnceCell;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::sync::Arc;

use chrono_tz::Tz;

use super::clock::Clock;
use super::files::unwritten;
use super::photos::keeping_bar;
use super::prompts::question::{Asker, Question, Terminal};
use crate::atomic_file::folder_of;
use crate::cli::failure::Failure;
use crate::cli::options::Global;
use crate::cli::out::Out;
use crate::day::{Book, DecideError, ReplayError, Request};
use crate::journal::{Journal, JournalError, Recorded, Rescued, recorded_lines};
use crate::moment::{self, Moment, MomentError};
use crate::plain::quoted;
use crate::record::{Body, Store, StoreError, StoredJob};
use crate::units::number::shortened;

/// The surroundings of one run of the program.
pub struct Site<'g> {
    /// Global options.
    pub global: &'g Global,
    /// The clock.
    pub clock: Clock,
    /// The job that was chosen at the terminal, where there are several and none was named.
    chosen: OnceCell<String>,
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
        let what = error.to_string();
        match error {
            StoreError::Missing(_) => Self::input_hint(what, "set a job up first: cladlog job add FILE.toml"),
            StoreError::NotOurs(_) => Self::input(what),
            StoreError::Altered(_) => {
                Self::machine_hint(what, "nothing in it can be trusted as it stands: restore a backup")
            }
            StoreError::Newer { .. } => Self::input_hint(what, "install the newer cladlog; nothing was changed"),
            StoreError::Damaged { .. } => {
                Self::machine_hint(what, "see the whole damage with cladlog verify; restore the file from a backup")
            }
            StoreError::ReadOnly { .. } => {
                Self::machine_hint(what, "get write access to the file and its folder, or use another file")
            }
            StoreError::Unread { .. } => {
                Self::machine_hint(what, "get read access, or ask someone who has it for a backup: cladlog backup FILE")
            }
            StoreError::LogOutOfReach(path) => {
                let path = path.display();
                Self::machine_hint(
                    what,
                    format!("to read it, copy {path} and {path}-wal to a folder of your own and name it with --db"),
                )
            }
            StoreError::Replaced(_) | StoreError::Diverged(_) => {
                Self::machine_hint(what, "nothing more was recorded; start the command again")
            }
            StoreError::InUse(_) => Self::machine_hint(
                what,
                "nothing was changed: leave walk and watch, and close whatever else uses it; then try again",
            ),
            StoreError::Busy(_) => {
                Self::machine_hint(what, "nothing was written: close the other program, or try again")
            }
            StoreError::Failed { .. } => Self::machine(what),
        }
    }
}

impl From<DecideError> for Failure {
    fn from(error: DecideError) -> Self {
        match error {
            DecideError::Refused(refusal) => Self::Refused(refusal),
            DecideError::Input(what) => Self::input(what),
            // What has no option is named in capitals, as the help names it.
            DecideError::Field { field, why } if field.chars().all(char::is_uppercase) => {
                Self::input(format!("{field}{why}"))
            }
            DecideError::Field { field, why } => Self::input(format!("--{field}{why}")),
            DecideError::NoHours(ref names) => {
                let options = names.iter().map(|name| format!(" --hours {}", quoted(&format!("{name}=8"))));
                Self::input(format!("{error}:{}", options.collect::<String>()))
            }
            DecideError::Answer(error) => Self::input(error),
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
            JournalError::Replaced { ref path, ref rescued } => {
                let hint = match rescued {
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
                };
                Self::machine_hint(error, hint)
            }
            JournalError::Replay(error) => error.into(),
            JournalError::Decide(error) => error.into(),
            JournalError::Photo(error) => error.into(),
            JournalError::Entry(error) => Self::machine(error),
            JournalError::Unwritten(_) => Self::machine(error),
            JournalError::Merge(error) => Self::input(error),
            JournalError::JobExists(_) | JournalError::Reused(_) => Self::input(error),
        }
    }
}

impl<'g> Site<'g> {
    pub fn new(global: &'g Global, clock: Clock) -> Self {
        Self { global, clock, chosen: OnceCell::new() }
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
        self.open_picked(self.job_key())
    }

    /// Opens the job of this key.
    pub fn open_job(&self, key: &str) -> Result<Opened, Failure> {
        self.open_picked(Some(key))
    }

    fn open_picked(&self, key: Option<&str>) -> Result<Opened, Failure> {
        let store = Store::read(&self.database()?)?;
        let stored = self.picked(store.jobs()?, key)?;
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
    pub fn pick(&self, jobs: Vec<StoredJob>) -> Result<StoredJob, Failure> {
        self.picked(jobs, self.job_key())
    }

    /// Who records: `--by`, or the only lead of the job.
    pub fn by(&self, book: &Book) -> Result<String, Failure> {
        if let Some(name) = &self.global.by {
            return Ok(book.state.job.person_meant(name).map_or_else(|| name.clone(), |person| person.name.clone()));
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
        self.read_at(zone, now).map_err(|error| Failure::input(format!("--at: {error}")))
    }

    /// The same, with what is wrong with it.
    pub fn read_at(&self, zone: Tz, now: Moment) -> Result<Moment, MomentError> {
        self.global.at.as_ref().map_or(Ok(now), |text| moment::parse(text, now.date(), zone))
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

    /// The job that is named or was chosen.
    fn job_key(&self) -> Option<&str> {
        self.global.job.as_deref().or(self.chosen.get().map(String::as_str))
    }

    /// The job of a key; without one the only job of the file, or the one that is chosen at the terminal.
    fn picked(&self, jobs: Vec<StoredJob>, key: Option<&str>) -> Result<StoredJob, Failure> {
        if key.is_some() || jobs.len() < 2 || self.global.json || !can_ask() {
            return picked(jobs, key);
        }
        let names: Vec<String> = jobs.iter().map(|job| format!("{} ({})", job.name, job.key)).collect();
        let place = Terminal.ask(Question::choice("Which job", &names))?;
        let key = self.chosen.get_or_init(|| jobs[place].key.clone());
        picked(jobs, Some(key))
    }

    /// Records a request and prints what came of it.
    pub fn record_and_print(&self, request: &dyn Request, out: &mut Out) -> Result<(), Failure> {
        let (recorded, book) = self.record(request)?;
        print(&recorded, &book, out)
    }
}

/// Whether somebody sits at the terminal.
fn can_ask() -> bool {
    std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

/// The job of a key; without one the only job of the file.
fn picked(mut jobs: Vec<StoredJob>, key: Option<&str>) -> Result<StoredJob, Failure> {
    let keys: Vec<String> = jobs.iter().map(|job| job.key.clone()).collect();
    if let Some(key) = key {
        return jobs.into_iter().find(|job| job.key == key).ok_or_else(|| {
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

/// Prints what was recorded, and what it opened and closed.
pub fn print(recorded: &Recorded, book: &Book, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        return out.json(recorded);
    }
    let Some(first) = recorded.entries.first() else { return Ok(()) };
    recorded_lines(recorded, book, first.recorded_at).iter().try_for_each(|line| out.wrapped(line, 4))
}
