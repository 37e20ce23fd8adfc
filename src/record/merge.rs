//! Two books of one job brought together: what the file that comes in adds, or why it is not taken.
//!
//! Every device writes a chain of its own, so that bringing together is a union: nothing is decided, changed or lost (of
//! one chain that went on in two ways both ends are kept: `fork`), and it comes to the same whichever file is merged into
//! which. What two people did without knowing of one another is for the rules to find (`day::replay`).

use std::collections::{BTreeSet, HashMap};

use super::body::Body;
use super::chain::{Link, check_chain};
use super::entry::{Entry, EntryError, FORMAT_VERSION};
use super::fork::{Fork, Leaf, assign_books, books};
use super::id::{EntryId, origin};
use super::line::{LineError, lines};

/// Longest id of a device.
const MOST_DEVICE: usize = 32;

/// Why a record is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MergeError {
    /// There is nothing in it.
    #[error("it holds no entries")]
    Empty,
    /// A line is not an entry.
    #[error("{place}: {what}")]
    Line {
        /// The entry, or the line where not even that can be read.
        place: String,
        /// What is wrong.
        what: String,
    },
    /// An entry does not hold, or has no place in this record.
    #[error("entry {id}: {what}")]
    Entry {
        /// Its id.
        id: String,
        /// What is wrong.
        what: String,
    },
}

fn entry_error(entry: &Entry, what: impl Into<String>) -> MergeError {
    MergeError::Entry { id: entry.id().to_string(), what: what.into() }
}

/// Reads the text of a `record.jsonl`: each line checked against its hash, every chain whole, one job.
///
/// # Errors
/// [`MergeError`] naming the first line or entry that does not hold.
pub fn read_jsonl(text: &str) -> Result<Vec<Entry>, MergeError> {
    let read = |(place, read): (String, Result<Entry, Box<LineError>>)| {
        read.map_err(|unread| MergeError::Line { place, what: unread.error.to_string() })
    };
    let mut entries = lines(text.as_bytes()).map(read).collect::<Result<Vec<_>, _>>()?;
    filed(&mut entries)?;
    sound(&entries)?;
    Ok(entries)
}

/// Checks that entries, in the order in which they came, are the whole record of one job.
///
/// # Errors
/// [`MergeError`].
pub fn sound(entries: &[Entry]) -> Result<(), MergeError> {
    let first = entries.first().ok_or(MergeError::Empty)?;
    for entry in entries {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
        let device = origin(&entry.device);
        if device.is_empty() || device.len() > MOST_DEVICE || !device.chars().all(plain) {
            return Err(entry_error(entry, "its device id is not one that this program makes"));
        }
        if entry.version > FORMAT_VERSION {
            let what = format!("its form is of version {}: a newer cladlog wrote it", entry.version);
            return Err(entry_error(entry, what));
        }
        if entry.job != first.job {
            return Err(entry_error(
                entry,
                format!("it is of job {}, and the file is of job {}", entry.job, first.job),
            ));
        }
        if !entry.happened_at.in_range() || !entry.recorded_at.in_range() {
            return Err(entry_error(entry, "its time is outside the years 1970 to 8999"));
        }
        if entry.happened_at > entry.recorded_at {
            return Err(entry_error(entry, "it says that it happened after it was recorded"));
        }
    }
    if let Some(found) = check_chain(entries.iter().map(Link::from)).into_iter().next() {
        return Err(MergeError::Entry { id: found.id, what: found.what });
    }
    set_up_by(entries)?;
    Ok(())
}

/// The entry that sets the job up; there must be exactly one.
fn set_up_by(entries: &[Entry]) -> Result<&Entry, MergeError> {
    let mut found = entries.iter().filter(|entry| matches!(entry.body, Body::JobAdded(_)));
    let first = entries.first().ok_or(MergeError::Empty)?;
    let by = found
        .next()
        .ok_or_else(|| entry_error(first, "no entry of the file sets the job up: its first book is missing"))?;
    if let Body::JobAdded(set_up) = &by.body
        && set_up.building.key != by.job
    {
        let what = format!("it sets up job {} in the record of job {}", set_up.building.key, by.job);
        return Err(entry_error(by, what));
    }
    match found.next() {
        Some(again) => Err(entry_error(again, format!("it sets the job up again after entry {}", by.id()))),
        None => Ok(by),
    }
}

/// What a record brings to ours.
#[derive(Debug, Default)]
pub struct United {
    /// The entries that are new, in the order of each book.
    pub new: Vec<Entry>,
    /// Entries of ours that are filed in another book now, each with its id until now.
    pub moved: Vec<(EntryId, Entry)>,
    /// The books that forked, in all.
    pub forks: Vec<Fork>,
    /// All entries, where a book forked.
    pub whole: Option<Vec<Entry>>,
}

/// Brings a sound record together with ours. Nothing is left out: where both go on from one entry in two ways, each
/// tail is kept, one of them as a book of its own.
///
/// # Errors
/// [`MergeError::Entry`] when the two are not the same job.
pub fn unite(ours: &[Entry], theirs: Vec<Entry>) -> Result<United, MergeError> {
    if !ours.is_empty() {
        let (here, there) = (set_up_by(ours)?, set_up_by(&theirs)?);
        if here.device != there.device {
            let what =
                format!("it is another job with the same key '{}' (here entry {} set it up)", there.job, here.id());
            return Err(entry_error(there, what));
        }
        if here.hash != there.hash {
            let what = format!("it sets job {} up otherwise than here: one of the two was altered", there.job);
            return Err(entry_error(there, what));
        }
    }
    let known: HashMap<&str, &Entry> = ours.iter().map(|entry| (entry.hash.as_str(), entry)).collect();
    let mut new: Vec<Entry> = theirs.into_iter().filter(|entry| !known.contains_key(entry.hash.as_str())).collect();
    let leaves: Vec<Leaf<'_>> = ours.iter().chain(&new).map(Leaf::from).collect();
    let mut united = United::default();
    if books(&leaves).1.is_empty() {
        drop(leaves);
        new.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
        united.new = new;
        return Ok(united);
    }
    drop(leaves);
    let mut whole: Vec<Entry> = ours.iter().cloned().chain(new).collect();
    united.forks = filed(&mut whole)?;
    whole.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
    for entry in &whole {
        match known.get(entry.hash.as_str()) {
            None => united.new.push(entry.clone()),
            Some(before) if before.device != entry.device => united.moved.push((before.id(), entry.clone())),
            Some(_) => {}
        }
    }
    united.whole = Some(whole);
    Ok(united)
}

/// Files entries in their books.
fn filed(entries: &mut [Entry]) -> Result<Vec<Fork>, MergeError> {
    let unread = |error: EntryError| MergeError::Line { place: "an entry".to_owned(), what: error.to_string() };
    assign_books(entries).map_err(unread)
}

/// The devices that write these entries.
pub fn devices_of(entries: &[Entry]) -> BTreeSet<&str> {
    entries.iter().map(|entry| &*entry.device).collect()
}
