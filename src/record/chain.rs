//! The chain of a device: each entry names the hash of the one before.

use std::collections::BTreeMap;

use super::{Entry, entry::NO_PREVIOUS};

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
pub struct ChainFault {
    /// The entry where the break shows.
    pub id: String,
    /// What is wrong.
    pub what: String,
}

impl From<&Entry> for Link {
    fn from(entry: &Entry) -> Self {
        Self {
            id: entry.id(),
            device: entry.device.clone(),
            seq: entry.seq,
            hashes: Some((entry.prev.clone(), entry.hash.clone())),
        }
    }
}

/// Checks the chain of every device among these links, given in the order of each device's numbers.
pub fn check_chain(links: impl IntoIterator<Item = Link>) -> Vec<ChainFault> {
    let mut last: BTreeMap<String, (u64, Option<String>)> = BTreeMap::new();
    let mut faults = Vec::new();
    for link in links {
        let first = (0, Some(NO_PREVIOUS.to_owned()));
        let (seq, before) = last.get(&link.device).unwrap_or(&first);
        if link.seq != seq + 1 {
            let what = format!("number {} follows number {seq}: entries are missing between them", link.seq);
            faults.push(ChainFault { id: link.id, what });
        } else if let (Some(before), Some((prev, _))) = (before, &link.hashes)
            && before != prev
        {
            let what = "does not follow from the entry before it: one of the two was changed or replaced".to_owned();
            faults.push(ChainFault { id: link.id, what });
        }
        last.insert(link.device, (link.seq, link.hashes.map(|(_, hash)| hash)));
    }
    faults
}
