//! Books that forked, here or on the server: which book of the server takes an entry. The server names the tails as they
//! came, a crew's file by what is in all of them, so that the hashes alone say what is where.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::record::{Entry, fork_name};

/// An entry of the file that the server has.
pub(super) struct Known {
    pub hash: String,
    /// The book that it is in on the server.
    pub book: String,
    /// Whether that book ends with it.
    pub is_end: bool,
}

/// The entries of one device: those that the server has, and where the others go.
pub(super) struct Tails<'e> {
    device: Arc<str>,
    /// The book of the server that each entry is in, by its hash.
    book_of: HashMap<String, Arc<str>>,
    /// Hashes of the entries with which the books of the server end.
    ends: HashSet<String>,
    /// Hashes after which the file has an entry that the server has, or is being sent.
    followed: HashSet<&'e str>,
}

/// Where an entry goes.
pub(super) struct Place {
    /// The book of the server.
    pub book: Arc<str>,
    /// Whether it begins the tail.
    pub begins: bool,
}

impl<'e> Tails<'e> {
    /// From those entries of a device that the server has, and all of them in the file.
    pub fn new(device: &str, known: Vec<Known>, in_file: &[&'e Entry]) -> Self {
        let ends = known.iter().filter(|known| known.is_end).map(|known| known.hash.clone()).collect();
        let book_of: HashMap<String, Arc<str>> =
            known.into_iter().map(|known| (known.hash, known.book.into())).collect();
        let there = in_file.iter().filter(|entry| book_of.contains_key(&entry.hash));
        let followed = there.map(|entry| entry.prev.as_str()).collect();
        Self { device: device.into(), book_of, ends, followed }
    }

    /// The book for an entry, given in the order of the chains; none where the server has it. A tail begins only where the
    /// file has what else goes on from there: it was brought together. Otherwise the entry goes where it does not fit, and
    /// the server says so.
    pub fn place(&mut self, entry: &'e Entry) -> Option<Place> {
        if self.book_of.contains_key(&entry.hash) {
            return None;
        }
        let goes_on = self.ends.remove(&entry.prev);
        let begins = !goes_on && self.followed.contains(entry.prev.as_str());
        let book = match self.book_of.get(&entry.prev) {
            _ if begins => fork_name(&self.device, &entry.hash).into(),
            Some(book) => Arc::clone(book),
            None => Arc::clone(&self.device),
        };
        self.book_of.insert(entry.hash.clone(), Arc::clone(&book));
        self.ends.insert(entry.hash.clone());
        self.followed.insert(&entry.prev);
        Some(Place { book, begins })
    }
}
