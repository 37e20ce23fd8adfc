//! What every command on a job needs: the file, the job, who records, when.

use std::path::PathBuf;

use chrono_tz::Tz;
use serde::Serialize;

use super::clock::Clock;
use super::files::unwritten;
use super::{Failure, Global, Out};
use crate::atomic_file::folder_of;
use crate::day::{Book, DecideError, Effects, Flag, ReplayError, Request, Snapshot, State, decide, photo_notes};
use crate::moment::{self, Moment};
use crate::record::{Body, Draft, Entry, ReadSide, Store, StoreError, StoredJob, Writing};

/// The surroundings of one run of the program.
pub struct Site<'g> {
    /// Global options.
    pub global: &'g Global,
    /// The clock.
    pub clock: Clock,
}

/// A job, opened.
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

/// What was recorded, once it is durable.
#[derive(Debug, Serialize)]
pub struct Recorded {
    /// The entries.
    pub entries: Vec<RecordedEntry>,
    /// What they opened and closed.
    #[serde(flatten)]
    pub effects: Effects,
    /// What they make one mind about the materials.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<Warning>,
}

/// A warning: it stops nothing, and is never silent.
#[derive(Debug, Serialize)]
pub struct Warning {
    /// What sort of thing.
    pub sort: &'static str,
    /// In words.
    pub says: String,
}

/// One entry, as it is told.
#[derive(Debug, Serialize)]
pub struct RecordedEntry {
    /// Id.
    pub id: String,
    /// Hash.
    pub hash: String,
    /// Kind.
    pub kind: String,
    /// Subject.
    pub subject: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Recorded late.
    #[serde(skip)]
    pub late: bool,
}

impl From<&Entry> for RecordedEntry {
    fn from(entry: &Entry) -> Self {
        Self {
            id: entry.id(),
            hash: entry.hash.clone(),
            kind: entry.body.kind().to_owned(),
            subject: entry.body.subject().to_owned(),
            happened_at: entry.happened_at,
            recorded_at: entry.recorded_at,
            late: entry.is_late(),
        }
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let machine = |what, hint: &str| Self::Machine { what, hint: Some(hint.to_owned()) };
        let what = error.to_string();
        match error {
            StoreError::Missing(_) => Self::input_hint(what, "set a job up first: cladlog job add FILE.toml"),
            StoreError::NotOurs(_) => Self::input(what),
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

impl Site<'_> {
    /// The database: `--db`, `CLADLOG_DB`, or the one in the platform's data folder.
    ///
    /// # Errors
    /// [`Failure::Input`] when the platform has no such folder.
    pub fn database(&self) -> Result<PathBuf, Failure> {
        if let Some(path) = &self.global.db {
            return Ok(path.clone());
        }
        directories::ProjectDirs::from("", "", "cladlog")
            .map(|dirs| dirs.data_dir().join("cladlog.db"))
            .ok_or_else(|| Failure::input("this system has no data folder: give the database with --db FILE"))
    }

    /// The same where it may have to be made: the platform's data folder is, if it is not there yet.
    ///
    /// # Errors
    /// [`Failure`] as [`Site::database`], and when the folder can't be made.
    pub fn new_database(&self) -> Result<PathBuf, Failure> {
        let path = self.database()?;
        if self.global.db.is_none() {
            let folder = folder_of(&path);
            std::fs::create_dir_all(folder).map_err(|error| unwritten(folder, &error))?;
        }
        Ok(path)
    }

    /// Opens the job for reading.
    ///
    /// # Errors
    /// [`Failure`]: no database, no such job, a damaged record.
    pub fn open(&self) -> Result<Opened, Failure> {
        let store = Store::read(&self.database()?)?;
        let stored = self.pick(store.jobs()?)?;
        let mut book = Book::open(store.entries(&stored.key)?)?;
        book.state.look_from(&stored.device);
        let now = self.clock.now().at_site(book.state.job.time_zone);
        Ok(Opened { store, stored, book, now })
    }

    /// Opens the job as it stood at `--at`, where that is given: what happened after it is left out, what was
    /// struck stays out. A time still to come is answered by what the record holds now.
    ///
    /// # Errors
    /// [`Failure`] as [`Site::open`], and when the time can't be read.
    pub fn open_as_of(&self) -> Result<Opened, Failure> {
        let mut opened = self.open()?;
        let at = self.at(&opened.book, opened.now)?;
        if at < opened.now {
            opened.book.state = opened.book.as_of(at)?.into_owned();
            opened.book.entries.retain(|entry| entry.happened_at <= at || matches!(entry.body, Body::JobAdded { .. }));
        }
        opened.now = at;
        Ok(opened)
    }

    /// Opens the job for writing and reading: the walk keeps it open.
    ///
    /// # Errors
    /// [`Failure`] as [`Site::open`], and when the file can't be written.
    pub fn open_for_writing(&self) -> Result<Store, Failure> {
        Ok(Store::write_to(&self.database()?)?)
    }

    /// The job that `--job` names, or the only one there is.
    ///
    /// # Errors
    /// [`Failure::Input`] when it is not there, or when there are several and none is named.
    pub fn pick(&self, jobs: Vec<StoredJob>) -> Result<StoredJob, Failure> {
        let keys: Vec<String> = jobs.iter().map(|job| job.key.clone()).collect();
        match &self.global.job {
            Some(key) => jobs.into_iter().find(|job| &job.key == key).ok_or_else(|| {
                let list =
                    if keys.is_empty() { "it holds none".to_owned() } else { format!("it holds {}", keys.join(", ")) };
                Failure::input(format!(
                    "there is no job '{}' in this database: {list}",
                    crate::units::number::shortened(key)
                ))
            }),
            None => {
                let mut jobs = jobs;
                match jobs.len() {
                    0 => Err(Failure::input_hint("this database holds no job yet", "cladlog job add FILE.toml")),
                    1 => Ok(jobs.remove(0)),
                    _ => Err(Failure::input(format!("which job? Give --job with one of {}", keys.join(", ")))),
                }
            }
        }
    }

    /// Who records: `--by`, or the only lead of the job.
    ///
    /// # Errors
    /// [`Failure::Input`] when it can't be told.
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

    /// When it happened: `--at` by the site's clocks, or now.
    ///
    /// # Errors
    /// [`Failure::Input`] when the time can't be read.
    pub fn at(&self, book: &Book, now: Moment) -> Result<Moment, Failure> {
        self.at_in(book.state.job.time_zone, now)
    }

    /// The same by the clocks of a time zone, where there is no job yet.
    ///
    /// # Errors
    /// As [`Site::at`].
    pub fn at_in(&self, zone: Tz, now: Moment) -> Result<Moment, Failure> {
        match &self.global.at {
            None => Ok(now),
            Some(text) => {
                moment::parse(text, now.date(), zone).map_err(|error| Failure::input(format!("--at: {error}")))
            }
        }
    }

    /// Decides a request and records what it comes to, in one transaction.
    ///
    /// # Errors
    /// [`Failure`]; nothing is written then.
    pub fn record(&self, request: &Request) -> Result<(Recorded, Book), Failure> {
        let mut store = self.open_for_writing()?;
        self.record_in(&mut store, request, None, None)
    }

    /// As [`Site::record`], in a file already open, by a person and at a time already known; with a book in `held`
    /// only what was filed since is read.
    ///
    /// # Errors
    /// [`Failure`]; nothing is written then.
    pub fn record_in(
        &self,
        store: &mut Store,
        request: &Request,
        by_at: Option<(&str, Moment)>,
        held: Option<Book>,
    ) -> Result<(Recorded, Book), Failure> {
        // Before the entry that names it is committed, a photo is safe on the disk; and none is kept whose entry
        // would be refused. Others need not wait for the copying.
        if !request.photos().is_empty() {
            let stored = self.pick(store.jobs()?)?;
            let book = Book::open(store.entries(&stored.key)?)?;
            let now = self.clock.now().at_site(book.state.job.time_zone);
            let (by, at) = self.by_at(&book, now, by_at)?;
            decide(&book, request, &by, at, now)?;
            super::photos::keep(&self.database()?, request)?;
        }
        store.write(|writing| {
            let stored = self.pick(writing.jobs()?)?;
            let mut book = match held.filter(|book| book.state.job.key == stored.key) {
                Some(book) => {
                    let newer = writing.entries_after(&stored.key, book.heads())?;
                    book.and(newer)?
                }
                None => Book::open(writing.entries(&stored.key)?)?,
            };
            book.state.look_from(&stored.device);
            let now = self.clock.now().at_site(book.state.job.time_zone);
            let (by, at) = self.by_at(&book, now, by_at)?;
            let bodies = decide(&book, request, &by, at, now)?;
            append(writing, &stored, book, bodies, &by, at, now, self.clock.is_rehearsal())
        })
    }

    /// Who by and when, as known already or as the options say.
    fn by_at(&self, book: &Book, now: Moment, known: Option<(&str, Moment)>) -> Result<(String, Moment), Failure> {
        match known {
            Some((by, at)) => Ok((by.to_owned(), at)),
            None => Ok((self.by(book)?, self.at(book, now)?)),
        }
    }

    /// Decides several requests one after the other and records what they come to, in one transaction.
    ///
    /// # Errors
    /// [`Failure`]; nothing is written then.
    pub fn record_all(&self, requests: &[Request]) -> Result<Recorded, Failure> {
        let mut store = self.open_for_writing()?;
        store.write(|writing| {
            let stored = self.pick(writing.jobs()?)?;
            let mut book = Book::open(writing.entries(&stored.key)?)?;
            book.state.look_from(&stored.device);
            let now = self.clock.now().at_site(book.state.job.time_zone);
            let (by, at) = (self.by(&book)?, self.at(&book, now)?);
            let before = Snapshot::of(&book.state, now);
            let (mut entries, mut warnings) = (Vec::new(), Vec::new());
            for request in requests {
                let bodies = decide(&book, request, &by, at, now)?;
                let rehearsal = self.clock.is_rehearsal();
                let (recorded, after) = append(writing, &stored, book, bodies, &by, at, now, rehearsal)?;
                entries.extend(recorded.entries);
                warnings.extend(recorded.warnings);
                book = after;
            }
            Ok(Recorded { entries, effects: before.effects(&Snapshot::of(&book.state, now)), warnings })
        })
    }

    /// Records a request and tells about it.
    ///
    /// # Errors
    /// [`Failure`]; nothing is written then.
    pub fn record_and_tell(&self, request: &Request, out: &mut Out) -> Result<(), Failure> {
        let (recorded, book) = self.record(request)?;
        recorded.tell(&book, out)
    }
}

/// What stands before something is recorded.
struct Standing {
    open: Snapshot,
    listed: ReadSide,
    flags: Vec<Flag>,
}

impl Standing {
    fn of(state: &State, now: Moment) -> Self {
        Self { open: Snapshot::of(state, now), listed: state.read_side(), flags: state.stock_flags(now) }
    }
}

/// Appends bodies to a job's book, and brings the read tables along.
#[allow(clippy::too_many_arguments, reason = "one call from each of two places; a struct would only rename these")]
pub fn append(
    writing: &Writing<'_>,
    stored: &StoredJob,
    book: Book,
    bodies: Vec<Body>,
    by: &str,
    at: Moment,
    now: Moment,
    rehearsal: bool,
) -> Result<(Recorded, Book), Failure> {
    // What stands open is gone through only where it may change: a remark is written without.
    let before = bodies.iter().any(Body::changes_state).then(|| Standing::of(&book.state, now));
    let mut book = book;
    let mut told = Vec::new();
    for body in bodies {
        let draft =
            Draft { job: stored.key.clone(), happened_at: at, recorded_at: now, by: by.to_owned(), body, rehearsal };
        let entry = writing.append(draft, &stored.device)?;
        told.push(RecordedEntry::from(&entry));
        book = book.with(entry)?;
    }
    if book.state.rehearsal && !stored.rehearsal {
        writing.list_job(&StoredJob { rehearsal: true, ..stored.clone() })?;
    }
    let ids: Vec<String> = told.iter().map(|entry| entry.id.clone()).collect();
    let (mut effects, mut warnings) = (Effects::default(), Vec::new());
    if let Some(before) = before {
        writing.update_read_side(&stored.key, &before.listed, &book.state.read_side())?;
        effects = before.open.effects(&Snapshot::of(&book.state, now));
        let flags = book.state.stock_warnings(&before.flags, &ids, now);
        warnings.extend(flags.into_iter().map(|flag| Warning { sort: flag.sort.word(), says: flag.says }));
    }
    warnings.extend(photo_notes(&book, &ids).into_iter().map(|says| Warning { sort: "photo", says }));
    Ok((Recorded { entries: told, effects, warnings }, book))
}

impl Recorded {
    /// Tells what was recorded, and what it opened and closed.
    ///
    /// # Errors
    /// [`Failure`] when the output can't be written.
    pub fn tell(&self, book: &Book, out: &mut Out) -> Result<(), Failure> {
        if out.is_json() {
            return out.json(self);
        }
        for line in self.lines(book) {
            out.line(super::out::wrapped(&line, 4, super::COLUMNS).join("\n"))?;
        }
        Ok(())
    }

    /// The same as lines of text.
    pub fn lines(&self, book: &Book) -> Vec<String> {
        let mut lines = Vec::new();
        let subjects: Vec<usize> =
            self.entries.iter().filter_map(|entry| book.state.subjects.index(&entry.subject)).collect();
        if let (Some(first), Some(last)) = (self.entries.first(), self.entries.last()) {
            let ids = if first.id == last.id { first.id.clone() } else { format!("{} to {}", first.id, last.id) };
            let late = if first.late { ", recorded late" } else { "" };
            lines.push(format!(
                "Recorded {ids}: {} on {}, {}{late}.",
                first.kind.replace('-', " "),
                book.state.subjects.shortly(&subjects),
                first.happened_at.format("%a %-d %b %H:%M")
            ));
        }
        for (word, marks) in [("Opened", &self.effects.opened), ("Closed", &self.effects.closed)] {
            for mark in marks {
                let says = if mark.says.is_empty() { String::new() } else { format!(": {}", mark.says) };
                lines.push(format!("  {word} {} {}{says}", mark.what, mark.id));
            }
        }
        lines.extend(self.warnings.iter().map(|warning| format!("  Mind: {}.", warning.says)));
        lines
    }
}
