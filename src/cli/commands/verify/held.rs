//! What is checked, held against what somebody wrote down or kept of it: a chain alone does not show that its end was cut
//! off, or that all of it was written again.

use std::collections::HashMap;
use std::path::Path;
use std::str::FromStr;

use super::pack::{is_pack, pdf_of, record_of};
use crate::cli::failure::Failure;
use crate::cli::files::first_bytes;
use crate::handover::{Failed, Verified, attached};
use crate::plain::count;
use crate::record::{Entry, EntryId, HEAD_DIGITS, Store, read_jsonl};

/// A head code, as an evening report ends in.
#[derive(Debug, Clone)]
pub struct HeadCode {
    seq: u64,
    digits: String,
}

impl FromStr for HeadCode {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = || {
            let (seq, digits) = text.trim().split_once('-')?;
            let seq = seq.parse().ok().filter(|seq| *seq > 0)?;
            let is_hex = digits.len() == HEAD_DIGITS && digits.bytes().all(|digit| digit.is_ascii_hexdigit());
            is_hex.then(|| Self { seq, digits: digits.to_lowercase() })
        };
        read().ok_or_else(|| {
            format!("a head code is a number, '-' and {HEAD_DIGITS} digits 0-9 a-f, as a report ends in")
        })
    }
}

impl std::fmt::Display for HeadCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}-{}", self.seq, self.digits)
    }
}

/// Holds the record of a pack or a database against head codes and earlier records.
pub(super) fn hold_against(
    path: &Path,
    heads: &[HeadCode],
    earlier: &[impl AsRef<Path>],
    verified: &mut Verified,
) -> Result<(), Failure> {
    let entries = entries_of(path)?;
    for head in heads {
        let mut numbered = entries.iter().filter(|entry| entry.seq == head.seq).peekable();
        let what = if numbered.peek().is_none() {
            format!("check {head}: there is no entry {}: the end was cut off, or it is of another job", head.seq)
        } else if numbered.any(|entry| entry.hash.starts_with(&head.digits)) {
            continue;
        } else {
            format!("check {head}: no entry {} has that hash: it was changed, or it is of another job", head.seq)
        };
        verified.failures.push(Failed::whole(what));
    }
    for earlier in earlier {
        let earlier = earlier.as_ref();
        let before = entries_of(earlier)?;
        let hashes: HashMap<&str, &Entry> = entries.iter().map(|entry| (entry.hash.as_str(), entry)).collect();
        let ids: HashMap<EntryId, &Entry> = entries.iter().map(|entry| (entry.id(), entry)).collect();
        let mut held = 0;
        for entry in &before {
            if hashes.contains_key(entry.hash.as_str()) {
                held += 1;
                continue;
            }
            let what = match ids.get(&entry.id()) {
                Some(_) => "differs from that in",
                None => "missing here, present in",
            };
            let what = format!("{what} {}", earlier.display());
            verified.failures.push(Failed { entry: Some(entry.id().to_string()), ..Failed::whole(what) });
        }
        if held == before.len() {
            let (all, more) = (count(held, "entry"), count(entries.len().saturating_sub(held), "entry"));
            verified.notes.push(format!("all {all} of {} are here unchanged, plus {more} more", earlier.display()));
        }
    }
    Ok(())
}

/// The entries of a pack, an export or a database.
fn entries_of(path: &Path) -> Result<Vec<Entry>, Failure> {
    let unread = |error: &dyn std::fmt::Display| Failure::input(format!("{}: {error}", path.display()));
    if !path.exists() {
        return Err(unread(&"there is no such file or folder"));
    }
    if let Some(pdf) = pdf_of(path)? {
        let record = attached(&pdf).map_err(|error| unread(&error))?;
        let text = String::from_utf8(record).map_err(|_| unread(&"its record is not UTF-8"))?;
        return read_jsonl(&text).map_err(|error| unread(&error));
    }
    if let Some(record) = is_pack(path).then(|| record_of(path)) {
        return read_jsonl(&record?).map_err(|error| unread(&error));
    }
    // As an export begins.
    if path.is_file() && first_bytes(path) == Some(*b"{") {
        let text = std::fs::read_to_string(path).map_err(|error| unread(&error))?;
        return read_jsonl(&text).map_err(|error| unread(&error));
    }
    Ok(Store::read(path)?.all_entries()?)
}
