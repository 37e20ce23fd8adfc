//! The transaction: what is asked for is decided, appended, and the read tables are brought along.

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use super::command::Command;
use super::error::JournalError;
use super::recorded::{Recorded, RecordedEntry, Warning, WarningKind};
use super::rescue::rescue;
use crate::building::Rate;
use crate::day::{
    Book, Change, DecideError, Decision, Effect, Effects, Photo, Request, State, Thing, check_break, decide,
    names_photo, photo_notes, recording_time, spelled,
};
use crate::moment::Moment;
use crate::photos::{Kept, KeptError, each};
use crate::record::{
    Body, CommandRow, Draft, Entry, EntryId, Heads, NO_PREVIOUS, SetUpJob, Store, StoreError, StoredJob, Writing,
};
use crate::refusal::Refusal;

/// Hears how many photos of how many are kept.
type Progress = Box<dyn FnMut(usize, usize) + Send>;

/// What is to be recorded, and when it happened.
pub type Timed<'r> = (&'r dyn Request, Moment);

/// An open file, and the book of one job in it.
pub struct Journal {
    store: Store,
    job: StoredJob,
    book: Arc<Book>,
    rehearsal: bool,
    clock_is_right: bool,
    progress: Progress,
}

/// A job to be set up.
pub struct NewJob<'a> {
    /// The building and the sequence.
    pub set_up: SetUpJob,
    /// What the work is paid at.
    pub rates: &'a [Rate],
    /// Id of the file's own book for the job.
    pub device: &'a str,
    /// Whether it is set up under a rehearsal clock.
    pub rehearsal: bool,
}

/// Who records, and when.
#[derive(Clone, Copy)]
struct Recording<'a> {
    by: &'a str,
    at: Moment,
    now: Moment,
    rehearsal: bool,
}

impl Journal {
    /// Reads and replays the book of a job. The store must be open for writing to record in it.
    ///
    /// # Errors
    /// [`JournalError`]: the file can't be read, or what it holds is no job.
    pub fn open(store: Store, job: StoredJob) -> Result<Self, JournalError> {
        let book = Arc::new(Book::open_by(&job.device, store.entries(&job.key)?)?);
        Ok(Self { store, job, book, rehearsal: false, clock_is_right: false, progress: Box::new(|_, _| ()) })
    }

    /// Sets a new job up in a file.
    ///
    /// # Errors
    /// [`JournalError`]: the file already holds a job of that key, or can't be written.
    pub fn set_up(
        mut store: Store,
        new: NewJob<'_>,
        by: &str,
        at: Moment,
        now: Moment,
    ) -> Result<(Self, Recorded), JournalError> {
        let NewJob { set_up, rates, device, rehearsal } = new;
        let (key, name) = (set_up.building.key.clone(), set_up.building.name.clone());
        let job = StoredJob { key, name, device: device.to_owned(), rehearsal };
        let entry = store.write(|writing| {
            if writing.jobs()?.iter().any(|other| other.key == job.key) {
                return Err(JournalError::JobExists(job.key.clone()));
            }
            writing.list_job(&job)?;
            writing.set_rates(&job.key, rates)?;
            let recording = Recording { by, at, now, rehearsal };
            let entry = recording.entry(&job, Body::JobAdded(set_up), &Heads::new())?;
            writing.insert(&entry)?;
            let book = Book::open(vec![entry.clone()])?;
            writing.replace_read_tables(&job.key, &book.state.read_tables())?;
            Ok(entry)
        })?;
        let recorded = Recorded { entries: vec![RecordedEntry::from(&entry)], ..Recorded::default() };
        let book = Arc::new(Book::open_by(device, vec![entry])?);
        Ok((Self { store, job, book, rehearsal, clock_is_right: true, progress: Box::new(|_, _| ()) }, recorded))
    }

    /// Marks everything that is recorded from now on as recorded under a rehearsal clock, or not.
    pub fn set_rehearsal(&mut self, rehearsal: bool) {
        self.rehearsal = rehearsal;
    }

    /// Takes the clock to be right although nothing has been recorded for long: somebody says so.
    pub fn trust_clock(&mut self) {
        self.clock_is_right = true;
    }

    /// A clock that was set for a rehearsal goes on by as much as whoever sets it likes.
    fn trusts_clock(&self) -> bool {
        self.clock_is_right || self.rehearsal
    }

    /// R14: asks about the clock where nothing has been recorded for long.
    ///
    /// # Errors
    /// [`Refusal`], until somebody says that the clock is right.
    pub fn check_break(&self, now: Moment) -> Result<(), Refusal> {
        if self.trusts_clock() { Ok(()) } else { check_break(&self.book.state, now) }
    }

    /// Sets what hears of photos being kept: how many of how many are.
    pub fn on_progress(&mut self, progress: impl FnMut(usize, usize) + Send + 'static) {
        self.progress = Box::new(progress);
    }

    /// The book as it was last read. Whoever holds on to it while something is recorded makes it be copied.
    pub fn book(&self) -> &Arc<Book> {
        &self.book
    }

    /// The file.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The job as the file lists it.
    pub fn job(&self) -> &StoredJob {
        &self.job
    }

    /// Carries what was recorded into the file itself, for whoever copies the file alone. It is durable before, so that
    /// this can wait until those have heard who wait for it. A journal that is closed does it too.
    ///
    /// # Errors
    /// [`JournalError::Replaced`].
    pub fn carry(&mut self) -> Result<(), JournalError> {
        self.store.carry().map_err(|error| rescue(error, &self.book))
    }

    /// Reads what others filed since; whether there was anything.
    ///
    /// # Errors
    /// [`JournalError`].
    pub fn refresh(&mut self) -> Result<bool, JournalError> {
        self.store.in_place().map_err(|error| rescue(error, &self.book))?;
        let Self { store, job, book, .. } = self;
        let newer = store.entries_after(&job.key, book.heads());
        follow(book, newer, || store.entries(&job.key))
    }

    /// Decides a request and records what it comes to, in one transaction.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn record(
        &mut self,
        request: &dyn Request,
        by: &str,
        at: Moment,
        now: Moment,
    ) -> Result<Recorded, JournalError> {
        self.record_all(&[request], by, at, now)
    }

    /// Decides several requests one after the other and records what they come to, in one transaction.
    ///
    /// Photos are kept before the transaction, once the first of the requests is found to be in order; where a later one is
    /// refused they stay beside the file and nothing names them.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn record_all(
        &mut self,
        requests: &[&dyn Request],
        by: &str,
        at: Moment,
        now: Moment,
    ) -> Result<Recorded, JournalError> {
        let timed: Vec<Timed<'_>> = requests.iter().map(|request| (*request, at)).collect();
        self.record_each(&timed, by, now)
    }

    /// The same for requests that each have a time of their own.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn record_each(&mut self, requests: &[Timed<'_>], by: &str, now: Moment) -> Result<Recorded, JournalError> {
        self.record_as(&Command::default(), requests, by, now)
    }

    /// The same, and what is noted of it beside the entries.
    pub(super) fn record_as(
        &mut self,
        command: &Command<'_>,
        requests: &[Timed<'_>],
        by: &str,
        now: Moment,
    ) -> Result<Recorded, JournalError> {
        self.keep_photos(requests, by, now)?;
        let trusts_clock = self.trusts_clock();
        let Self { store, job, book, rehearsal, .. } = self;
        let mut appended = false;
        let result = store.append(|writing| -> Result<Recorded, JournalError> {
            follow(book, writing.entries_after(&job.key, book.heads()), || writing.entries(&job.key))?;
            if !trusts_clock {
                check_break(&book.state, now).map_err(DecideError::from)?;
            }
            let mut recorded = Recorded::default();
            recorded.warnings.extend(take_new_book(writing, job, book)?);
            let by = &spelled(&book.state, by)?;
            for &(request, at) in requests {
                let recording = Recording { by, at, now, rehearsal: *rehearsal };
                let decision = decide(book, request, by, at, now)?;
                appended = true;
                recording.append(writing, job, Arc::make_mut(book), decision, &mut recorded)?;
            }
            if let (Some(first), Some(last)) = (recorded.entries.first(), recorded.entries.last())
                && (command.undo || first.id != last.id)
            {
                let (first, last, undo) = (first.id.seq, last.id.seq, command.undo);
                writing.note_command(&job.device, &CommandRow { first, last, undo })?;
            }
            if let Some(sent) = command.sent {
                writing.note_sent(&sent.row(&recorded)?)?;
            }
            Ok(recorded)
        });
        let result = result.map_err(|error| match error {
            JournalError::Store(error) => rescue(error, &self.book),
            other => other,
        });
        if result.is_err() && appended {
            self.reread();
        }
        self.job.rehearsal |= result.is_ok() && self.book.state.rehearsal;
        result
    }

    /// Keeps the photos of requests, where the first of these is in order. Before the entry that names it is committed, a photo
    /// is safe on the disk; and none is kept whose entry would be refused. Others need not wait for the copying.
    fn keep_photos(&mut self, requests: &[Timed<'_>], by: &str, now: Moment) -> Result<(), JournalError> {
        let photos: Vec<&Photo> = requests.iter().flat_map(|(request, _)| request.photos()).collect();
        if photos.is_empty() {
            return Ok(());
        }
        self.refresh()?;
        self.check_break(now).map_err(DecideError::from)?;
        // What comes after the first is decided by what the first records.
        if let Some((first, at)) = requests.first() {
            decide(&self.book, *first, by, *at, now)?;
        }
        Ok(self.keep(&photos)?)
    }

    /// Reads the book again: what was not committed is no part of it. Where the file can't be read any more, why it failed
    /// first is what is said.
    fn reread(&mut self) {
        let read = || Ok::<_, JournalError>(Book::open_by(&self.job.device, self.store.entries(&self.job.key)?)?);
        if let Ok(book) = read() {
            self.book = Arc::new(book);
        }
    }

    /// Keeps photos beside the file, several at once: most of it is waiting for the disk.
    fn keep(&mut self, photos: &[&Photo]) -> Result<(), KeptError> {
        let kept = Kept::beside(self.store.path());
        // One file may answer two questions.
        let once: BTreeMap<&str, &Photo> = photos.iter().map(|photo| (photo.sha256.as_str(), *photo)).collect();
        let once: Vec<&Photo> = once.into_values().collect();
        let keep = |photo: &&Photo| kept.keep(&photo.source, &photo.sha256, photo.facts.format);
        let done = each(&once, keep, &mut |done| (self.progress)(done, once.len()));
        done.into_iter().collect::<Result<(), KeptError>>()?;
        kept.sync()
    }
}

impl Drop for Journal {
    fn drop(&mut self) {
        // What is not carried is durable all the same. Where the file was replaced, what was recorded is saved beside it.
        let _ = self.carry();
    }
}

/// Goes on with the book that the file was given since, where it was: it was copied here, or a merge showed a fork.
fn take_new_book(
    writing: &Writing<'_>,
    job: &mut StoredJob,
    book: &mut Arc<Book>,
) -> Result<Option<Warning>, StoreError> {
    let Some(given) = writing.jobs()?.into_iter().find(|it| it.key == job.key && it.device != job.device) else {
        return Ok(None);
    };
    Arc::make_mut(book).state.set_device(&given.device);
    let says =
        format!("this file is a copy or was moved; from now on it records as a device of its own, {}", given.device);
    *job = given;
    Ok(Some(Warning { kind: WarningKind::Book, says }))
}

/// Adds what others filed to a book that may be shared; whether there was anything. Where a merge filed entries anew the
/// whole book is read again, by `all`.
fn follow(
    book: &mut Arc<Book>,
    newer: Result<Vec<Entry>, StoreError>,
    all: impl FnOnce() -> Result<Vec<Entry>, StoreError>,
) -> Result<bool, JournalError> {
    let newer = match newer {
        Err(StoreError::Diverged(path)) => {
            let all = all()?;
            let there: HashSet<&str> = all.iter().map(|entry| entry.hash.as_str()).collect();
            if !book.entries.iter().all(|entry| there.contains(entry.hash.as_str())) {
                return Err(rescue(StoreError::Replaced(path), book));
            }
            let mut read = Book::open(all)?;
            if let Some(device) = book.state.device() {
                read.state.set_device(device);
            }
            *book = Arc::new(read);
            return Ok(true);
        }
        newer => newer?,
    };
    if newer.is_empty() {
        return Ok(false);
    }
    Arc::make_mut(book).refresh(newer)?;
    Ok(true)
}

impl Recording<'_> {
    /// The next entry of a job's own book.
    fn entry(self, job: &StoredJob, body: Body, heads: &Heads) -> Result<Entry, JournalError> {
        let Self { by, at, now, rehearsal } = self;
        let draft =
            Draft { job: job.key.clone(), happened_at: at, recorded_at: now, by: by.to_owned(), body, rehearsal };
        let (seq, prev) = heads.get(&job.device).map_or((0, NO_PREVIOUS), |(seq, hash)| (*seq, hash.as_str()));
        let others = heads.iter().filter(|(device, _)| **device != job.device);
        let seen = others.map(|(device, (seq, _))| (device.clone(), *seq)).collect();
        Ok(Entry::finalize(draft, job.device.as_str(), seq + 1, prev, seen)?)
    }

    /// Appends what was decided, to the file and to the book, and brings the read tables along.
    fn append(
        self,
        writing: &Writing<'_>,
        job: &StoredJob,
        book: &mut Book,
        mut decision: Decision,
        recorded: &mut Recorded,
    ) -> Result<(), JournalError> {
        let bodies = std::mem::take(&mut decision.bodies);
        let stock = bodies.iter().any(|body| book.state.may_change_stock(body));
        let shown = bodies.iter().any(names_photo);
        let flags = stock.then(|| book.state.stock_flags(self.now));
        let mut heads = book.heads().clone();
        let mut entries = Vec::with_capacity(bodies.len());
        let recording = Self { now: recording_time(&book.state, self.now), ..self };
        for body in bodies {
            let entry = recording.entry(job, body, &heads)?;
            writing.insert(&entry)?;
            heads.insert(job.device.clone(), (entry.seq, entry.hash.clone()));
            entries.push(entry);
        }
        let ids: Vec<EntryId> = entries.iter().map(Entry::id).collect();
        recorded.entries.extend(entries.iter().map(RecordedEntry::from));
        let change = book.extend(entries, decision.past.take())?;
        let state = &book.state;
        let listed =
            StoredJob { name: state.job.name.clone(), rehearsal: state.rehearsal || job.rehearsal, ..job.clone() };
        if listed != *job {
            writing.list_job(&listed)?;
        }
        recorded.effects.extend(match change {
            Change::Followed(effects) => {
                bring_along(writing, &job.key, &effects, state)?;
                Effects::of(&effects, state, self.now)
            }
            Change::Rewritten(before) => {
                decision.check_dependent(&before, state, &ids).map_err(DecideError::from)?;
                writing.replace_read_tables(&job.key, &state.read_tables())?;
                Effects::between(&before, state, self.now)
            }
        });
        let flags = flags.map(|before| state.stock_warnings(&before, &ids, self.now)).unwrap_or_default();
        recorded
            .warnings
            .extend(flags.into_iter().map(|flag| Warning { kind: WarningKind::Materials(flag.kind), says: flag.says }));
        let adopted = state.adoptions.iter().filter(|adoption| ids.contains(&adoption.entry));
        let changes = adopted.flat_map(|adoption| &adoption.changes);
        recorded
            .warnings
            .extend(changes.map(|change| Warning { kind: WarningKind::Sequence, says: change.in_words() }));
        if shown {
            let notes = photo_notes(book, &ids).into_iter();
            recorded.warnings.extend(notes.map(|says| Warning { kind: WarningKind::Photo, says }));
        }
        Ok(())
    }
}

/// Writes the rows of the read tables that something happened to.
fn bring_along(writing: &Writing<'_>, job: &str, effects: &[Effect], state: &State) -> Result<(), StoreError> {
    for effect in effects {
        match effect.thing() {
            Thing::Defect(id) => {
                if let Some(defect) = state.defect(id) {
                    writing.put_defect(job, &defect.row())?;
                }
            }
            Thing::Hold { hold, subject } => {
                if let Some(hold) = state.sequence().hold(hold) {
                    writing.put_hold(job, &state.hold_row(hold, *subject))?;
                }
            }
            Thing::Day { .. } | Thing::Stoppage(_) | Thing::Window { .. } => {}
        }
    }
    Ok(())
}

/// Rebuilds the list of jobs and the read tables of a file from its entries; gives the number of jobs.
///
/// # Errors
/// [`JournalError`]; nothing is changed then.
pub fn rebuild(store: &mut Store) -> Result<usize, JournalError> {
    store.write(|writing| {
        let listed = writing.jobs()?;
        writing.empty_read_tables()?;
        let keys = writing.jobs_with_entries()?;
        for key in &keys {
            let book = Book::open(writing.entries(key)?)?;
            let first = book.entries.iter().find(|entry| matches!(entry.body, Body::JobAdded(_)));
            let own = listed.iter().find(|job| job.key == *key).map(|job| job.device.clone());
            writing.list_job(&StoredJob {
                key: key.clone(),
                name: book.state.job.name.clone(),
                device: own.or_else(|| first.map(|entry| entry.device.to_string())).unwrap_or_default(),
                rehearsal: book.state.rehearsal,
            })?;
            writing.replace_read_tables(key, &book.state.read_tables())?;
        }
        Ok(keys.len())
    })
}
