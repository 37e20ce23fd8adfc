//! Books that forked: a file was copied, both copies went on, and both gave the same numbers to entries of their own.
//!
//! Every line is kept byte for byte. Of the tails that follow one entry the one that was begun first keeps the name of
//! the book; each other is filed as a book of its own, named `DEVICE~HASH` by its first entry. The names follow from the
//! lines alone, so that all files that hold the same lines name them alike, whichever was merged into which.
//!
//! What a line says of entries of its own device it says of those of its own side. What another device says of an entry of
//! a book that forked is taken to mean the tail that kept the name: a line names entries by number, not by hash.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;

use super::entry::{Entry, EntryError, NO_PREVIOUS};
use super::id::{DefectId, EntryId, FORK, is_fork, origin};
use crate::moment::Moment;

/// So many digits of the hash of its first entry name a fork.
const DIGITS: usize = 12;

/// A tail that was filed as a book of its own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fork {
    /// The name of the book.
    pub book: Arc<str>,
    /// The last entry that both sides have.
    pub after: EntryId,
    /// How many entries the tail has.
    pub entries: usize,
}

impl Fork {
    /// In a sentence.
    pub fn in_words(&self) -> String {
        let Self { book, after, entries } = self;
        let entries = crate::plain::count(*entries, "entry");
        format!(
            "after entry {after} two copies of this file were used separately (one was copied or altered). Both are kept; \
             {entries} of the second are filed as {book}"
        )
    }
}

/// The name of a tail that is filed apart, by the hash of its first entry.
pub fn fork_name(device: &str, first_hash: &str) -> String {
    format!("{device}{FORK}{}", first_hash.get(..DIGITS).unwrap_or(first_hash))
}

/// What names an entry's book.
#[derive(Clone, Copy)]
pub(super) struct Leaf<'e> {
    pub(super) device: &'e str,
    pub(super) seq: u64,
    pub(super) recorded_at: Moment,
    pub(super) prev: &'e str,
    pub(super) hash: &'e str,
}

impl<'e> From<&'e Entry> for Leaf<'e> {
    fn from(entry: &'e Entry) -> Self {
        let Entry { device, seq, recorded_at, prev, hash, .. } = entry;
        Self { device: origin(device), seq: *seq, recorded_at: *recorded_at, prev, hash }
    }
}

/// The books that are forks, each with the number that it begins with and the book that it left.
type Begun = BTreeMap<Arc<str>, (u64, Arc<str>)>;

/// The book of each entry; `None` for the book of its device.
pub(super) fn books(leaves: &[Leaf<'_>]) -> (Vec<Option<Arc<str>>>, Begun) {
    let (mut names, mut begun) = (vec![None; leaves.len()], Begun::new());
    let mut numbers = HashSet::with_capacity(leaves.len());
    let twice = leaves.iter().filter(|leaf| !numbers.insert((leaf.device, leaf.seq)));
    let forked: BTreeSet<&str> = twice.map(|leaf| leaf.device).collect();
    for device in forked {
        let mut followers: HashMap<(&str, u64), Vec<usize>> = HashMap::new();
        for (place, leaf) in leaves.iter().enumerate().filter(|(_, leaf)| leaf.device == device) {
            followers.entry((leaf.prev, leaf.seq)).or_default().push(place);
        }
        let mut ends: Vec<((&str, u64), Arc<str>)> = vec![((NO_PREVIOUS, 1), device.into())];
        while let Some((end, book)) = ends.pop() {
            let mut next = followers.remove(&end).unwrap_or_default();
            next.sort_by_key(|place| (leaves[*place].recorded_at, leaves[*place].hash));
            let first = next.first().map(|place| leaves[*place].hash);
            for place in next {
                let Leaf { seq, hash, .. } = leaves[place];
                let book = if Some(hash) == first {
                    Arc::clone(&book)
                } else {
                    let fork: Arc<str> = fork_name(device, hash).into();
                    begun.insert(Arc::clone(&fork), (seq, Arc::clone(&book)));
                    fork
                };
                names[place] = is_fork(&book).then(|| Arc::clone(&book));
                ends.push(((hash, seq.saturating_add(1)), book));
            }
        }
    }
    (names, begun)
}

/// Files each entry in its book; gives the forks.
///
/// # Errors
/// [`EntryError`] when the line of an entry can't be read again.
pub fn assign_books(entries: &mut [Entry]) -> Result<Vec<Fork>, EntryError> {
    let leaves: Vec<Leaf<'_>> = entries.iter().map(Leaf::from).collect();
    let (names, begun) = books(&leaves);
    drop(leaves);
    for (entry, name) in entries.iter_mut().zip(names) {
        match name {
            Some(book) => entry.file_under(&book, &begun)?,
            None if is_fork(&entry.device) => *entry = Entry::open(entry.line.clone(), &entry.hash)?,
            None => {}
        }
    }
    Ok(forks_of(entries, &begun))
}

/// The forks among entries that are filed.
pub fn forks(entries: &[Entry]) -> Vec<Fork> {
    if !entries.iter().any(|entry| is_fork(&entry.device)) {
        return Vec::new();
    }
    let leaves: Vec<Leaf<'_>> = entries.iter().map(Leaf::from).collect();
    forks_of(entries, &books(&leaves).1)
}

fn forks_of(entries: &[Entry], begun: &Begun) -> Vec<Fork> {
    let fork = |(book, (first, left)): (&Arc<str>, &(u64, Arc<str>))| Fork {
        book: Arc::clone(book),
        after: EntryId { device: book_at(left, first - 1, begun), seq: first - 1 },
        entries: entries.iter().filter(|entry| entry.device == *book).count(),
    };
    begun.iter().map(fork).collect()
}

/// The book that holds a number as seen from `book`: itself, or the one that it left before that number.
fn book_at(book: &Arc<str>, seq: u64, begun: &Begun) -> Arc<str> {
    let mut book = book;
    while let Some((first, left)) = begun.get(book)
        && seq < *first
    {
        book = left;
    }
    Arc::clone(book)
}

impl Entry {
    /// Files the entry in the book of a fork: it is known by that name, has seen what comes before the fork, and what it
    /// says of entries of its device it says of those of its own side.
    fn file_under(&mut self, book: &Arc<str>, begun: &Begun) -> Result<(), EntryError> {
        let device = origin(book).to_owned();
        let mut entry = Self::open_with(std::mem::take(&mut self.line), &self.hash, &|value| {
            redirect(value, &device, &|seq| book_at(book, seq, begun));
        })?;
        let mut left = begun.get(book);
        while let Some((first, before)) = left {
            entry.seen.insert(before.to_string(), first - 1);
            left = begun.get(before);
        }
        entry.device = Arc::clone(book);
        *self = entry;
        Ok(())
    }
}

/// Turns every id of an entry or a defect of `device` to the book that it is in.
fn redirect(value: &mut Value, device: &str, book: &dyn Fn(u64) -> Arc<str>) {
    match value {
        Value::String(text) => {
            let (id, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
            // A remark may begin like an id.
            let is_id = rest.is_empty() || text.parse::<DefectId>().is_ok();
            if is_id
                && let Ok(id) = id.parse::<EntryId>()
                && *id.device == *device
            {
                *text = format!("{}-{}{rest}", book(id.seq), id.seq);
            }
        }
        Value::Array(values) => values.iter_mut().for_each(|value| redirect(value, device, book)),
        Value::Object(fields) => fields.values_mut().for_each(|value| redirect(value, device, book)),
        _ => {}
    }
}
