//! Ids: of an entry, and of a defect. Their text is one and the same in the record, in JSON and on the command line.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::refusal::Rule;
use crate::units::number::shortened;

/// The id of an entry, written `demo-7`: the device whose book it is in, and its number there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId {
    /// The device.
    pub device: Arc<str>,
    /// Counted from 1 on that device.
    pub seq: u64,
}

/// Entries of one device, from the first to the last: `demo-3..7`, or `demo-3` for one alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryRun {
    /// The first.
    pub first: EntryId,
    /// Number of the last.
    pub last: u64,
}

impl EntryRun {
    /// Whether an entry is one of them.
    pub fn contains(&self, id: &EntryId) -> bool {
        id.device == self.first.device && (self.first.seq..=self.last).contains(&id.seq)
    }
}

impl fmt::Display for EntryRun {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { first, last } = self;
        if first.seq == *last { write!(f, "{first}") } else { write!(f, "{first}..{last}") }
    }
}

impl FromStr for EntryRun {
    type Err = String;

    /// `demo-3`, `demo-3..7` or `demo-3..demo-7`.
    fn from_str(text: &str) -> Result<Self, String> {
        let id = |text: &str| text.parse::<EntryId>().map_err(|error| error.to_string());
        let Some((first, last)) = text.split_once("..") else {
            let first = id(text)?;
            return Ok(Self { last: first.seq, first });
        };
        let first = id(first)?;
        let last = match last.parse() {
            Ok(seq) => EntryId { seq, ..first.clone() },
            Err(_) => id(last)?,
        };
        if first.device != last.device {
            return Err(format!("{first} and {last} are of two devices: strike the entries of each by themselves"));
        }
        if first.seq > last.seq {
            return Err(format!("{first} comes after {last}: type the first entry first"));
        }
        Ok(Self { first, last: last.seq })
    }
}

/// The id of a defect, written `demo-7.r8-lean`: the entry that opened it, and what about that entry is wrong.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DefectId {
    /// The entry that opened it.
    pub entry: EntryId,
    /// What found it.
    pub cause: Cause,
}

/// What found a defect.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A person reported it.
    Reported,
    /// The answer to the ask of this key was out of tolerance.
    Measured(String),
    /// A rule, with the key of the hold point, window, limit or caution.
    Rule(Rule, String),
}

/// A text that is no id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum IdError {
    /// Of an entry.
    #[error("'{0}' is not the id of an entry: see cladlog log")]
    Entry(String),
    /// Of a defect.
    #[error("'{0}' is not the id of a defect: see cladlog defect list")]
    Defect(String),
}

/// Letters of the ids of devices, digits last: no vowels, so that no words come out; no l, 1, 0, o to be misread.
const LETTERS: &[u8; 27] = b"bcdfghjkmnpqrstvwxz23456789";

/// Length of the id of a device.
const DEVICE: usize = 8;

/// How much longer the id of a book is with which a copy of a file goes on.
const CONTINUED: usize = 5;

/// Stands between the device and the mark of the fork; no device that a program makes has it in its id.
pub(super) const FORK: char = '~';

/// The device that the lines of a book name.
pub fn origin(book: &str) -> &str {
    book.split_once(FORK).map_or(book, |(origin, _)| origin)
}

/// Whether a book is a tail that was filed apart.
pub(super) fn is_fork(book: &str) -> bool {
    book.contains(FORK)
}

fn letters(number: usize) -> String {
    let mut bytes = vec![0u8; number];
    // Where the system has no random numbers, those of the process must do: an id that is met twice loses nothing.
    if getrandom::fill(&mut bytes).is_err() {
        fastrand::fill(&mut bytes);
    }
    let letter = |(place, byte): (usize, &u8)| {
        // The first is no digit, so that an id never reads as a number.
        let letters = if place == 0 { &LETTERS[..19] } else { &LETTERS[..] };
        char::from(letters[usize::from(*byte) % letters.len()])
    };
    bytes.iter().enumerate().map(letter).collect()
}

/// A new id for a file's own book of a job: short, and never met twice in practice.
pub fn new_device() -> String {
    letters(DEVICE)
}

/// The id of a book with which a file goes on that was copied: it begins as that of the book before.
pub(super) fn continued(device: &str) -> String {
    format!("{}{}", crew(device), letters(CONTINUED))
}

/// What the ids of all books have in common with which copies of one file go on: one crew's, as far as anybody knows.
pub fn crew(device: &str) -> &str {
    let device = origin(device);
    device.get(..DEVICE).unwrap_or(device)
}

impl EntryId {
    /// The id of an entry of a device's book.
    pub fn new(device: impl Into<Arc<str>>, seq: u64) -> Self {
        Self { device: device.into(), seq }
    }
}

impl Cause {
    /// The rule that finds the defect; none where somebody reported it.
    pub fn rule(&self) -> Option<Rule> {
        match self {
            Self::Rule(rule, _) => Some(*rule),
            Self::Measured(_) => Some(Rule::Answer),
            Self::Reported => None,
        }
    }
}

impl DefectId {
    /// The id of what is wrong with an entry.
    pub fn new(entry: EntryId, cause: Cause) -> Self {
        Self { entry, cause }
    }
}

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.device, self.seq)
    }
}

impl fmt::Display for DefectId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.", self.entry)?;
        match &self.cause {
            Cause::Reported => f.write_str("defect"),
            Cause::Measured(ask) => write!(f, "r8-{ask}"),
            Cause::Rule(rule, key) => write!(f, "{}-{key}", rule.to_string().to_lowercase()),
        }
    }
}

impl FromStr for EntryId {
    type Err = IdError;

    fn from_str(text: &str) -> Result<Self, IdError> {
        let read = || {
            let (device, number) = text.rsplit_once('-')?;
            // One number has one way to be written.
            let digits = !number.starts_with('0') && number.bytes().all(|byte| byte.is_ascii_digit());
            (digits && !device.is_empty()).then_some(Self::new(device, number.parse().ok()?))
        };
        read().ok_or_else(|| IdError::Entry(shortened(text)))
    }
}

impl FromStr for DefectId {
    type Err = IdError;

    fn from_str(text: &str) -> Result<Self, IdError> {
        let read = || {
            let (entry, cause) = text.split_once('.')?;
            let cause = match cause.split_once('-') {
                None => (cause == "defect").then_some(Cause::Reported)?,
                Some(("r8", ask)) => Cause::Measured(ask.to_owned()),
                Some((rule, key)) => {
                    Cause::Rule(rule.starts_with('r').then(|| rule.to_uppercase().parse().ok())??, key.to_owned())
                }
            };
            Some(Self::new(entry.parse().ok()?, cause))
        };
        read().ok_or_else(|| IdError::Defect(shortened(text)))
    }
}

impl Serialize for EntryId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Serialize for DefectId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for EntryId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

impl<'de> Deserialize<'de> for DefectId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_read_as_it_is_written() {
        for text in ["demo-7.defect", "demo-7.r8-lean", "demo-17.r4-order", "a-b-3.r7-expired-batch", "k2-1.r12-day"] {
            let id: DefectId = text.parse().unwrap();
            assert_eq!(id.to_string(), text);
            assert_eq!(serde_json::to_value(&id).unwrap(), text);
            assert_eq!(id.entry.to_string(), text.split('.').next().unwrap());
        }
        let measured = DefectId::new(EntryId::new("demo", 7), Cause::Measured("lean".into()));
        assert_eq!("demo-7.r8-lean".parse(), Ok(measured));
    }

    #[test]
    fn what_is_no_id_is_an_error() {
        for text in ["", "demo", "demo-", "demo-07", "demo-+7", "-7", "demo-7x", "demo-99999999999999999999"] {
            assert_eq!(text.parse::<EntryId>(), Err(IdError::Entry(text.to_owned())));
        }
        for text in
            ["demo-7", "demo-7.", "demo-7.r8", "demo-7.R4-order", "demo-7.r99-x", "demo.defect", "demo-7.defects"]
        {
            assert_eq!(text.parse::<DefectId>(), Err(IdError::Defect(text.to_owned())));
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_an_id_or_an_error(text in "\\PC{0,40}") {
            if let Ok(id) = text.parse::<DefectId>() {
                proptest::prop_assert_eq!(id.to_string(), text);
            }
        }
    }
}
