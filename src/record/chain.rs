//! The chain of a device: each entry names the hash of the one before.

use std::collections::{BTreeMap, HashSet};

use super::entry::{Entry, NO_PREVIOUS};
use super::id::{is_fork, origin};

/// The number and the hash of the last entry of each device.
pub type Heads = BTreeMap<String, (u64, String)>;

/// What the chain needs to know of an entry.
#[derive(Debug, Clone)]
pub struct Link {
    /// Id of the entry.
    pub id: String,
    /// Its device.
    pub device: String,
    /// Its number on that device.
    pub seq: u64,
    /// Hash of the one before, and its own; `None` when the entry itself is damaged, and named already.
    pub hashes: Option<(String, String)>,
}

/// A break in a chain.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{id}: {what}")]
pub struct ChainError {
    /// The entry where the break shows.
    pub id: String,
    /// What is wrong.
    pub what: String,
}

impl From<&Entry> for Link {
    fn from(entry: &Entry) -> Self {
        Self {
            id: entry.id().to_string(),
            device: entry.device.to_string(),
            seq: entry.seq,
            hashes: Some((entry.prev.clone(), entry.hash.clone())),
        }
    }
}

/// Checks the chain of every device among these links, given in the order of each device's numbers.
pub fn check_chain(links: impl IntoIterator<Item = Link>) -> Vec<ChainError> {
    check_chain_after(&Heads::new(), links)
}

/// The same where each device's chain goes on from `heads`.
pub fn check_chain_after(heads: &Heads, links: impl IntoIterator<Item = Link>) -> Vec<ChainError> {
    let known = heads.iter().map(|(device, (seq, hash))| (device.clone(), (*seq, Some(hash.clone()))));
    let mut last: BTreeMap<String, (u64, Option<String>)> = known.collect();
    let mut errors = Vec::new();
    let links: Vec<Link> = links.into_iter().collect();
    let trunks = trunks(&links);
    for Link { id, device, seq, hashes } in links {
        let first = match &hashes {
            // A fork begins where it left the book of its device.
            Some((prev, _))
                if is_fork(&device) && trunks.contains(&(origin(&device).to_owned(), seq, prev.clone())) =>
            {
                (seq - 1, Some(prev.clone()))
            }
            None if is_fork(&device) => (seq.saturating_sub(1), None),
            _ => (0, Some(NO_PREVIOUS.to_owned())),
        };
        let (number, before) = last.get(&device).unwrap_or(&first);
        if number.checked_add(1) != Some(seq) {
            let what = format!("number {seq} follows number {number}: entries are missing between them");
            errors.push(ChainError { id, what });
        } else if let (Some(before), Some((prev, _))) = (before, &hashes)
            && before != prev
        {
            let what = "does not follow from the entry before it: one of the two was changed or replaced".to_owned();
            errors.push(ChainError { id, what });
        }
        last.insert(device, (seq, hashes.map(|(_, hash)| hash)));
    }
    errors
}

/// What a fork may follow on: device, number of the entry that follows, hash of the one before. Empty without a fork.
fn trunks(links: &[Link]) -> HashSet<(String, u64, String)> {
    let forked: HashSet<&str> =
        links.iter().filter(|link| is_fork(&link.device)).map(|link| origin(&link.device)).collect();
    let trunk = |link: &Link| {
        let device = origin(&link.device);
        let (_, hash) = link.hashes.as_ref().filter(|_| forked.contains(device))?;
        Some((device.to_owned(), link.seq.checked_add(1)?, hash.clone()))
    };
    links.iter().filter_map(trunk).collect()
}

/// The first break among entries that are in the order of each device's numbers; the same as [`check_chain_after`]
/// for entries that were opened, without a copy of anything.
pub(super) fn first_break(heads: &Heads, entries: &[Entry]) -> Option<ChainError> {
    if entries.iter().any(|entry| is_fork(&entry.device)) {
        return check_chain_after(heads, entries.iter().map(Link::from)).into_iter().next();
    }
    let mut last: BTreeMap<&str, (u64, &str)> =
        heads.iter().map(|(device, (seq, hash))| (device.as_str(), (*seq, hash.as_str()))).collect();
    let follows =
        |entry: &Entry, (number, hash): (u64, &str)| number.checked_add(1) == Some(entry.seq) && hash == entry.prev;
    let mut before: Option<&Entry> = None;
    for entry in entries {
        let head = match before {
            Some(before) if before.device == entry.device => (before.seq, before.hash.as_str()),
            _ => last.get(&*entry.device).copied().unwrap_or((0, NO_PREVIOUS)),
        };
        if !follows(entry, head) {
            return check_chain_after(heads, entries.iter().map(Link::from)).into_iter().next();
        }
        if let Some(before) = before.filter(|before| before.device != entry.device) {
            last.insert(&before.device, (before.seq, &before.hash));
        }
        before = Some(entry);
    }
    None
}
