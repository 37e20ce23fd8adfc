//! Another crew's entries, brought into a file: a union, in one transaction.

use super::error::JournalError;
use super::recorded::RecordedEntry;
use crate::day::{Book, Change, Effects};
use crate::moment::Moment;
use crate::record::{Entry, Fork, MergeError, StoredJob, United, Writing, crew, devices_of, unite};

/// What bringing one record in did.
#[derive(Debug)]
pub struct Merged {
    /// Key of the job.
    pub job: String,
    /// The job was not in the file before.
    pub is_new: bool,
    /// How many entries it has now.
    pub entries: usize,
    /// Of how many devices.
    pub devices: usize,
    /// The entries that came in.
    pub added: Vec<RecordedEntry>,
    /// The books that forked, where this record made any fork known.
    pub forks: Vec<Fork>,
    /// What they opened and closed.
    pub effects: Effects,
}

/// A record that fits into a file.
struct Fitting {
    stored: Option<StoredJob>,
    ours: Vec<Entry>,
    united: United,
}

/// Whether the record of a job may be brought into a file.
///
/// # Errors
/// [`MergeError`] within [`JournalError`], naming the entry that has no place there.
pub fn check_fits(writing: &Writing<'_>, theirs: &[Entry]) -> Result<(), JournalError> {
    fitting(writing, theirs.to_vec()).map(|_| ())
}

fn fitting(writing: &Writing<'_>, theirs: Vec<Entry>) -> Result<Fitting, JournalError> {
    let key = theirs.first().map(|entry| entry.job.clone()).unwrap_or_default();
    let stored = writing.jobs()?.into_iter().find(|job| job.key == key);
    let ours = if stored.is_some() { writing.entries(&key)? } else { Vec::new() };
    for device in devices_of(&theirs) {
        if let Some(job) = writing.job_of(device)?.filter(|job| *job != key) {
            let what = format!("device {device} writes the book of job {job} here, not of job {key}");
            return Err(MergeError::Entry { id: format!("{device}-1"), what }.into());
        }
    }
    let united = unite(&ours, theirs)?;
    Ok(Fitting { stored, ours, united })
}

/// Brings the record of a job into a file. `device` is the id of the file's own book, should the job be new to it.
///
/// # Errors
/// [`JournalError`]; the transaction is to be given up then.
pub fn merge(writing: &Writing<'_>, theirs: Vec<Entry>, device: &str, now: Moment) -> Result<Merged, JournalError> {
    let Fitting { stored, ours, united } = fitting(writing, theirs)?;
    let United { new, moved, forks, whole } = united;
    let mut merged = Merged {
        job: String::new(),
        is_new: stored.is_none(),
        entries: 0,
        devices: 0,
        added: new.iter().map(RecordedEntry::from).collect(),
        forks: Vec::new(),
        effects: Effects::default(),
    };
    writing.refile(&moved)?;
    new.iter().try_for_each(|entry| writing.insert(entry))?;
    if !new.is_empty() {
        merged.forks = forks;
    }
    // A book that others go on with as well is not gone on with here.
    let forked = |job: &&StoredJob| merged.forks.iter().any(|fork| crew(&fork.book) == crew(&job.device));
    let own = match stored.as_ref().filter(forked) {
        Some(job) => writing.begin_book(job)?,
        None => stored.as_ref().map_or_else(|| device.to_owned(), |job| job.device.clone()),
    };
    let own = own.as_str();
    let book = if ours.is_empty() {
        let book = Book::open_by(own, new)?;
        merged.effects = Effects::all(&book.state, now.at_site(book.state.job.time_zone));
        book
    } else {
        let mut book = Book::open_by(own, ours)?;
        let now = now.at_site(book.state.job.time_zone);
        merged.effects = match whole.filter(|_| !moved.is_empty()) {
            // What is filed elsewhere now bears other ids.
            Some(whole) => {
                let before = std::mem::replace(&mut book, Book::open_by(own, whole)?).state;
                Effects::between(&before, &book.state, now)
            }
            None => match book.extend(new, None)? {
                Change::Followed(effects) => Effects::of(&effects, &book.state, now),
                Change::Rewritten(before) => Effects::between(&before, &book.state, now),
            },
        };
        book
    };
    writing.replace_read_tables(&book.state.job.key, &book.state.read_tables())?;
    let state = &book.state;
    writing.list_job(&StoredJob {
        key: state.job.key.clone(),
        name: state.job.name.clone(),
        device: own.to_owned(),
        rehearsal: state.rehearsal || stored.as_ref().is_some_and(|job| job.rehearsal),
    })?;
    merged.job.clone_from(&state.job.key);
    (merged.entries, merged.devices) = (book.entries.len(), devices_of(&book.entries).len());
    Ok(merged)
}
