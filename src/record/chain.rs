//! The chain of a device: each entry names the hash of the one before.

use std::collections::{BTreeMap, HashSet};

use super::entry::{Entry, NO_PREVIOUS};
use super::id::{is_fork, origin};

/// The number and the hash of the last entry of each device.
pub type Heads = BTreeMap<String, (u64, String)>;

/// What the chain needs to know of an entry.
#[derive(Debug, Clone, Copy)]
pub struct Link<'e> {
    /// Its device.
    pub device: &'e str,
    /// Its number on that device.
    pub seq: u64,
    /// Hash of the one before, and its own; `None` when the entry itself is damaged, and named already.
    pub hashes: Option<(&'e str, &'e str)>,
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

impl<'e> From<&'e Entry> for Link<'e> {
    fn from(entry: &'e Entry) -> Self {
        Self { device: &entry.device, seq: entry.seq, hashes: Some((&entry.prev, &entry.hash)) }
    }
}

/// Checks the chain of every device among these links, given in the order of each device's numbers.
pub fn check_chain<'e>(links: impl IntoIterator<Item = Link<'e>>) -> Vec<ChainError> {
    check_chain_after(&Heads::new(), links)
}

/// The same where each device's chain goes on from `heads`.
pub fn check_chain_after<'e>(heads: &Heads, links: impl IntoIterator<Item = Link<'e>>) -> Vec<ChainError> {
    let links: Vec<Link<'_>> = links.into_iter().collect();
    let trunks = trunks(&links);
    let known = heads.iter().map(|(device, (seq, hash))| (device.as_str(), (*seq, Some(hash.as_str()))));
    let mut last: BTreeMap<&str, (u64, Option<&str>)> = known.collect();
    let mut errors = Vec::new();
    for Link { device, seq, hashes } in links {
        let first = match hashes {
            // A fork begins where it left the book of its device.
            Some((prev, _)) if is_fork(device) && trunks.contains(&(origin(device), seq, prev)) => {
                (seq - 1, Some(prev))
            }
            None if is_fork(device) => (seq.saturating_sub(1), None),
            _ => (0, Some(NO_PREVIOUS)),
        };
        let (number, before) = last.get(device).copied().unwrap_or(first);
        let wrong = if seq == number {
            Some(format!("number {seq} is there twice"))
        } else if seq < number {
            Some(format!("number {seq} follows number {number}: they are out of order"))
        } else if number.checked_add(1) != Some(seq) {
            Some(format!("number {seq} follows number {number}: entries are missing between them"))
        } else if before.zip(hashes).is_some_and(|(before, (prev, _))| before != prev) {
            Some("does not follow from the entry before it: one of the two was changed or replaced".to_owned())
        } else {
            None
        };
        errors.extend(wrong.map(|what| ChainError { id: format!("{device}-{seq}"), what }));
        last.insert(device, (seq, hashes.map(|(_, hash)| hash)));
    }
    errors
}

/// What a fork may follow on: device, number of the entry that follows, hash of the one before. Empty without a fork.
fn trunks<'e>(links: &[Link<'e>]) -> HashSet<(&'e str, u64, &'e str)> {
    let forked: HashSet<&str> =
        links.iter().filter(|link| is_fork(link.device)).map(|link| origin(link.device)).collect();
    let trunk = |link: &Link<'e>| {
        let device = origin(link.device);
        let (_, hash) = link.hashes.filter(|_| forked.contains(device))?;
        Some((device, link.seq.checked_add(1)?, hash))
    };
    links.iter().filter_map(trunk).collect()
}
