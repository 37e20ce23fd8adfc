//! One entry: its canonical line, its hash, its place in the chain of its device.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Value, json};

use super::body::Body;
use super::id::EntryId;
use crate::digest::sha256_hex;
use crate::moment::Moment;

/// The version of the entry's form.
pub const FORMAT_VERSION: u32 = 1;

/// `prev` of a device's first entry.
pub const NO_PREVIOUS: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// So many digits of a hash stand in a head code.
pub const HEAD_DIGITS: usize = 20;

/// Recorded more than this many minutes after it happened: late.
pub const LATE_AFTER_MIN: i64 = 15;

/// An entry about to be written.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Key of the job.
    pub job: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it is recorded.
    pub recorded_at: Moment,
    /// Who records it.
    pub by: String,
    /// What it says.
    pub body: Body,
    /// Written under a rehearsal clock.
    pub rehearsal: bool,
}

/// An entry of the record. The form of `line` is frozen: its bytes are what is hashed.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Version of the form.
    pub version: u32,
    /// Id of the device's book for this job.
    pub device: Arc<str>,
    /// Counted from 1 on that device.
    pub seq: u64,
    /// Key of the job.
    pub job: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Who recorded it.
    pub by: String,
    /// What it says.
    pub body: Body,
    /// Written under a rehearsal clock.
    pub rehearsal: bool,
    /// The last number of every other device's book that the file held when this was recorded.
    pub seen: BTreeMap<String, u64>,
    /// Hash of the device's entry before.
    pub prev: String,
    /// SHA-256 of `line`, lower-case hex.
    pub hash: String,
    /// The RFC 8785 form of all but the hash.
    pub line: String,
}

/// Why a line is not an entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// The hash does not fit the line.
    #[error("its text does not fit its hash: it was changed after it was recorded")]
    Hash,
    /// The line can't be read.
    #[error("it can't be read: {0}")]
    Unreadable(String),
}

impl Entry {
    /// The id: device and sequence number, as written everywhere.
    pub fn id(&self) -> EntryId {
        EntryId { device: Arc::clone(&self.device), seq: self.seq }
    }

    /// Whether whoever recorded this had that entry in their file: it is of the same book and before it, or of one
    /// that had been merged.
    pub fn had_seen(&self, other: &EntryId) -> bool {
        if self.device == other.device {
            other.seq < self.seq
        } else {
            self.seen.get(&*other.device).is_some_and(|last| other.seq <= *last)
        }
    }

    /// How much was on record when this was recorded, itself included: of two entries of which one had seen the other
    /// it is greater for that one. It puts into order what bears the same time.
    pub fn causal_rank(&self) -> u64 {
        self.seen.values().fold(self.seq, |sum, seq| sum.saturating_add(*seq))
    }

    /// Recorded more than a quarter of an hour after it happened.
    pub fn is_late(&self) -> bool {
        (self.recorded_at - self.happened_at).num_seconds() > LATE_AFTER_MIN * 60
    }

    /// Makes a draft the next entry of a device: its canonical line and its hash. `seen` is how far the file holds every
    /// other device's book.
    ///
    /// # Errors
    /// [`EntryError::Unreadable`] when it has no canonical form: a number that is not finite.
    pub fn finalize(
        draft: Draft,
        device: impl Into<Arc<str>>,
        seq: u64,
        prev: &str,
        seen: BTreeMap<String, u64>,
    ) -> Result<Self, EntryError> {
        let device = device.into();
        let unreadable = |error: serde_json::Error| EntryError::Unreadable(error.to_string());
        let mut body = match &draft.body {
            Body::Unknown { body, .. } => body.clone(),
            known => serde_json::to_value(known).map_err(unreadable)?.get("body").cloned().unwrap_or(json!({})),
        };
        if let Value::Object(fields) = &mut body {
            fields.insert("job".into(), json!(draft.job));
            if draft.rehearsal {
                fields.insert("rehearsal".into(), json!(true));
            }
            if !seen.is_empty() {
                fields.insert("seen".into(), json!(seen));
            }
        }
        let whole = json!({
            "version": FORMAT_VERSION,
            "device": &*device,
            "seq": seq,
            "happened_at": draft.happened_at.to_string(),
            "recorded_at": draft.recorded_at.to_string(),
            "by": draft.by,
            "kind": draft.body.kind(),
            "body": body,
            "prev": prev,
        });
        let line = serde_json_canonicalizer::to_string(&whole).map_err(unreadable)?;
        let hash = sha256_hex(line.as_bytes());
        Ok(Self {
            version: FORMAT_VERSION,
            device,
            seq,
            job: draft.job,
            happened_at: draft.happened_at,
            recorded_at: draft.recorded_at,
            by: draft.by,
            body: draft.body,
            rehearsal: draft.rehearsal,
            seen,
            prev: prev.to_owned(),
            hash,
            line,
        })
    }

    /// The head code of a book that ends here, `SEQ-HEX`: short enough to be read out or written down.
    pub fn head_code(&self) -> String {
        format!("{}-{}", self.seq, self.hash.get(..HEAD_DIGITS).unwrap_or(&self.hash))
    }

    /// The entry as a line of `record.jsonl`: the canonical form with the hash in its place.
    pub fn jsonl(&self) -> String {
        // "hash" sorts between "happened_at" and "kind": the line stays canonical with it put in.
        match self.line.rfind(",\"kind\":") {
            Some(at) => format!("{},\"hash\":\"{}\"{}", &self.line[..at], self.hash, &self.line[at..]),
            None => self.line.clone(),
        }
    }
}

/// Puts entries into the order of the record: by the time of recording, each device in the order of its numbers.
///
/// A device's clock may have gone back a little; its entries still follow one another, so that an entry counts as
/// recorded no earlier than those before it on its device. The order does not depend on how the entries came
/// together: two files that hold the same entries give the same record.
pub fn in_order(entries: &mut Vec<Entry>) {
    entries.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
    if entries.first().map(|entry| &entry.device) == entries.last().map(|entry| &entry.device) {
        return;
    }
    let mut latest: Option<(Arc<str>, Moment)> = None;
    let mut placed: Vec<((Moment, u64), Entry)> = Vec::with_capacity(entries.len());
    for entry in std::mem::take(entries) {
        let at = match latest.take() {
            Some((device, before)) if device == entry.device => before.max(entry.recorded_at),
            _ => entry.recorded_at,
        };
        latest = Some((Arc::clone(&entry.device), at));
        placed.push(((at, entry.causal_rank()), entry));
    }
    // Stable: within a moment the books stay in the order of their names.
    placed.sort_by_key(|(place, _)| *place);
    entries.extend(placed.into_iter().map(|(_, entry)| entry));
}

/// Entries as `record.jsonl`: one a line, oldest first.
pub fn jsonl(entries: &[Entry]) -> String {
    let mut text = String::new();
    for entry in entries {
        text.push_str(&entry.jsonl());
        text.push('\n');
    }
    text
}
