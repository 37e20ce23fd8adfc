//! Two books of one job brought together: what the file that comes in adds, or why it is not taken.
//!
//! Every device writes a chain of its own, so that bringing together is a union: nothing is decided, changed or
//! lost, and it comes to the same whichever file is merged into which. What two people did without knowing of one
//! another is for the rules to find (`day::replay`).

use std::collections::{BTreeMap, BTreeSet};

use super::body::Body;
use super::chain::{Link, check_chain};
use super::entry::{Entry, FORMAT_VERSION};
use super::line::LineError;

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
    let mut entries = Vec::new();
    for (index, line) in text.split_inclusive('\n').enumerate() {
        let place = format!("line {}", index + 1);
        let Some(line) = line.strip_suffix('\n') else {
            return Err(MergeError::Line {
                place,
                what: "it has no line break at its end: the file is cut short".into(),
            });
        };
        entries.push(Entry::from_jsonl(line).map_err(|unread| {
            let LineError { link, error } = *unread;
            let place = link.filter(|link| !link.device.is_empty()).map_or(place, |link| format!("entry {}", link.id));
            MergeError::Line { place, what: error.to_string() }
        })?);
    }
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
        if entry.device.is_empty() || entry.device.len() > MOST_DEVICE || !entry.device.chars().all(plain) {
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

/// What a sound record adds to ours, in the order of each book; nothing when all of it is here.
///
/// # Errors
/// [`MergeError::Entry`] when the two are not the same job, or one number of one device says two things.
pub fn added(ours: &[Entry], theirs: Vec<Entry>) -> Result<Vec<Entry>, MergeError> {
    if !ours.is_empty() {
        let (here, there) = (set_up_by(ours)?, set_up_by(&theirs)?);
        if here.device != there.device {
            let what = format!(
                "it sets up job {} for itself; here entry {} does: they are two jobs under one key",
                there.job,
                here.id()
            );
            return Err(entry_error(there, what));
        }
    }
    let known: BTreeMap<(&str, u64), &str> =
        ours.iter().map(|entry| ((&*entry.device, entry.seq), entry.hash.as_str())).collect();
    let mut new = Vec::new();
    for entry in theirs {
        match known.get(&(&*entry.device, entry.seq)) {
            None => new.push(entry),
            Some(hash) if **hash == *entry.hash => {}
            Some(_) => {
                let what = "it says something else than the entry of that number here: one of them is forged, or a copy \
                            of the database was written to as well";
                return Err(entry_error(&entry, what));
            }
        }
    }
    new.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
    Ok(new)
}

/// The devices that write these entries.
pub fn devices_of(entries: &[Entry]) -> BTreeSet<&str> {
    entries.iter().map(|entry| &*entry.device).collect()
}
