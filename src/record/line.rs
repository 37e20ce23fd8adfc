//! Reading entries back: the stored line, and the line of `record.jsonl`.
//!
//! The stored line *is* what was hashed: it is hashed as it lies there and parsed once, and nothing is written
//! again to be compared.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::value::RawValue;
use serde_json::{Map, Value};

use super::body::Body;
use super::entry::{Entry, EntryError};
use super::id::is_fork;
use crate::digest::is_sha256;
use crate::moment::Moment;

/// All of a line, borrowed from it where nothing is escaped.
#[derive(Deserialize)]
struct Whole<'l> {
    version: u32,
    #[serde(borrow)]
    device: Cow<'l, str>,
    seq: u64,
    #[serde(borrow)]
    happened_at: Cow<'l, str>,
    #[serde(borrow)]
    recorded_at: Cow<'l, str>,
    by: String,
    #[serde(borrow)]
    kind: Cow<'l, str>,
    #[serde(borrow)]
    body: &'l RawValue,
    prev: String,
}

/// What stands in the body beside what its kind says.
#[derive(Deserialize)]
struct Beside<'l> {
    #[serde(borrow)]
    job: Cow<'l, str>,
    #[serde(default)]
    rehearsal: Value,
    #[serde(default)]
    seen: BTreeMap<String, u64>,
}

fn unreadable(what: impl std::fmt::Display) -> EntryError {
    EntryError::Unreadable(what.to_string())
}

impl Entry {
    /// Reads an entry back and checks it against its hash.
    ///
    /// # Errors
    /// [`EntryError`]: the hash does not fit, or the line is not an entry.
    pub fn open(line: String, hash: &str) -> Result<Self, EntryError> {
        Self::read(line, hash, None)
    }

    /// The same, with the body as `change` leaves it; the line stays as it is.
    pub(super) fn open_with(line: String, hash: &str, change: &dyn Fn(&mut Value)) -> Result<Self, EntryError> {
        Self::read(line, hash, Some(change))
    }

    fn read(line: String, hash: &str, change: Option<&dyn Fn(&mut Value)>) -> Result<Self, EntryError> {
        if !is_sha256(line.as_bytes(), hash) {
            return Err(EntryError::Hash);
        }
        let whole: Whole<'_> = serde_json::from_str(&line).map_err(unreadable)?;
        let moment = |key: &str, text: &str| {
            Moment::parse_from_rfc3339(text).map_err(|_| unreadable(format_args!("'{key}' is not a time")))
        };
        let happened_at = moment("happened_at", &whole.happened_at)?;
        // Most of what is recorded happened just then.
        let recorded_at = match whole.recorded_at == whole.happened_at {
            true => happened_at,
            false => moment("recorded_at", &whole.recorded_at)?,
        };
        let beside: Beside<'_> = serde_json::from_str(whole.body.get()).map_err(unreadable)?;
        let (job, rehearsal, seen) = (beside.job.into_owned(), beside.rehearsal == Value::Bool(true), beside.seen);
        if is_fork(&whole.device) {
            return Err(unreadable("its device id is not one that this program makes"));
        }
        let body = match change {
            None => body(&whole.kind, whole.body.get())?,
            Some(change) => {
                let mut value: Value = serde_json::from_str(whole.body.get()).map_err(unreadable)?;
                change(&mut value);
                body(&whole.kind, &value.to_string())?
            }
        };
        let (version, device, seq, by, prev) =
            (whole.version, (&*whole.device).into(), whole.seq, whole.by, whole.prev);
        let hash = hash.to_owned();
        Ok(Self { version, device, seq, job, happened_at, recorded_at, by, body, rehearsal, seen, prev, hash, line })
    }

    /// Reads a line of `record.jsonl`, without its line break, and checks it against the hash that stands in it.
    ///
    /// Only the canonical form is taken: a line that says the same in other words was changed after it was recorded.
    ///
    /// # Errors
    /// [`LineError`], with the entry's place in its chain where that can be read.
    pub fn from_jsonl(text: &str) -> Result<Self, Box<LineError>> {
        let failed = |place, error| Box::new(LineError { place, error });
        let mut whole: Map<String, Value> =
            serde_json::from_str(text).map_err(|error| failed(None, unreadable(error)))?;
        let device = whole.get("device").and_then(Value::as_str).unwrap_or_default().to_owned();
        let seq = whole.get("seq").and_then(Value::as_u64).unwrap_or_default();
        let failed = |error| failed((!device.is_empty()).then(|| (device.clone(), seq)), error);
        let Some(Value::String(hash)) = whole.remove("hash") else { return Err(failed(unreadable("no 'hash'"))) };
        let bare = serde_json_canonicalizer::to_string(&whole).map_err(|error| failed(unreadable(error)))?;
        let entry = Self::open(bare, &hash).map_err(failed)?;
        if entry.jsonl() != text {
            let what = "it is not written as the program writes it: it was changed after it was recorded";
            return Err(failed(unreadable(what)));
        }
        Ok(entry)
    }
}

/// Why a line of `record.jsonl` is not an entry.
#[derive(Debug, Clone)]
pub struct LineError {
    /// Its device and its number there, where they can be read.
    pub place: Option<(String, u64)>,
    /// What is wrong.
    pub error: EntryError,
}

/// The entries of a `record.jsonl`, each checked against its hash; each line with its name for people: the id of the entry,
/// or the number of the line where not even that can be read.
pub fn lines(record: &[u8]) -> impl Iterator<Item = (String, Result<Entry, Box<LineError>>)> {
    let unread = |what: &str| Box::new(LineError { place: None, error: unreadable(what) });
    let read = move |line: &[u8]| {
        let line = line.strip_suffix(b"\n");
        let line = line.ok_or_else(|| unread("the last line is incomplete: the file was cut short"))?;
        if line.trim_ascii().is_empty() {
            return Err(unread("the line is blank"));
        }
        Entry::from_jsonl(std::str::from_utf8(line).map_err(|_| unread("it is not UTF-8"))?)
    };
    (1_u64..).zip(record.split_inclusive(|byte| *byte == b'\n')).map(move |(number, line)| {
        let read = read(line);
        let name = match &read {
            Ok(entry) => format!("entry {}", entry.id()),
            Err(error) => match &error.place {
                Some((device, seq)) => format!("entry {device}-{seq}"),
                None => format!("line {number}"),
            },
        };
        (name, read)
    })
}

/// The body of a kind; one that is not known, or not as this program knows it, is kept as it is.
fn body(kind: &str, raw: &str) -> Result<Body, EntryError> {
    // The kind first: then the body is read as it comes, and not kept aside until its kind is met.
    let kind_text = serde_json::to_string(kind).map_err(unreadable)?;
    let tagged = format!("{{\"kind\":{kind_text},\"body\":{raw}}}");
    if let Ok(known) = serde_json::from_str(&tagged) {
        return Ok(known);
    }
    let mut body: Map<String, Value> = serde_json::from_str(raw).map_err(unreadable)?;
    body.remove("job");
    body.remove("rehearsal");
    body.remove("seen");
    Ok(Body::Unknown { kind: kind.to_owned(), body: Value::Object(body) })
}
