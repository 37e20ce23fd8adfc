//! The file that is merged: an export or a database, read and checked.

use std::io::Read;
use std::path::Path;

use crate::cli::failure::Failure;
use crate::cli::site::Site;
use crate::day::recorded_ahead;
use crate::moment::Moment;
use crate::record::{Entry, MergeError, Store, StoreError, read_jsonl, sound};
use crate::refusal::{Refusal, Rule};

/// Largest export that is taken, 1 GiB: two million entries.
const MOST_BYTES: u64 = 1 << 30;

/// What is no record is bad input; a record whose entries do not hold is refused (R1).
pub(super) fn about(file: &Path, error: &MergeError) -> Failure {
    let hint = "nothing was written; ask for a new export: cladlog export FILE.jsonl";
    let says = format!("{}: {error}", file.display());
    match error {
        MergeError::Line { place, .. } if place.starts_with("entry ") => broken(file, says, hint),
        MergeError::Entry { .. } => broken(file, says, hint),
        MergeError::Line { .. } | MergeError::Empty => Failure::input_hint(says, hint),
    }
}

fn broken(file: &Path, why: String, clears: &str) -> Failure {
    Refusal::new(Rule::AppendOnly, format!("merge {}", file.display()), why, clears).into()
}

/// The records in a file, job by job; with `--job` only that one's.
pub(super) fn records(file: &Path, site: &Site<'_>) -> Result<Vec<Vec<Entry>>, Failure> {
    let unread = |error: std::io::Error| Failure::input(format!("{}: can't be read: {error}", file.display()));
    if file.is_dir() {
        return Err(Failure::input(format!("{}: is a folder, not an export or a database", file.display())));
    }
    let mut opened = std::fs::File::open(file).map_err(unread)?;
    let mut first = Vec::new();
    opened.by_ref().take(16).read_to_end(&mut first).map_err(unread)?;
    let refused = |error: MergeError| about(file, &error);
    if first == b"SQLite format 3\0" {
        let store = Store::read(file)?;
        let keys = store.jobs()?.into_iter().map(|job| job.key);
        let wanted: Vec<String> = keys.filter(|key| site.global.job.as_ref().is_none_or(|job| job == key)).collect();
        if wanted.is_empty() {
            return Err(Failure::input(format!("{}: has no such job", file.display())));
        }
        let each = wanted.iter().map(|key| {
            let entries = store.entries(key).map_err(|error| match error {
                StoreError::Damaged { id, what, .. } => refused(MergeError::Entry { id, what }),
                other => other.into(),
            })?;
            sound(&entries).map_err(refused)?;
            Ok(entries)
        });
        return each.collect();
    }
    let about_it = opened.metadata().map_err(unread)?;
    if !about_it.is_file() {
        return Err(Failure::input(format!("{}: is not a regular file", file.display())));
    }
    if about_it.len() > MOST_BYTES {
        return Err(Failure::input(format!("{}: is larger than any record", file.display())));
    }
    opened.read_to_end(&mut first).map_err(unread)?;
    let text = String::from_utf8(first)
        .map_err(|_| Failure::input(format!("{}: is not an export or a database: it is not UTF-8", file.display())))?;
    let entries = read_jsonl(&text).map_err(refused)?;
    match (&site.global.job, entries.first()) {
        (Some(job), Some(first)) if *job != first.job => Err(Failure::input(format!(
            "{}: entry {}: it is of job {}, not of {job}",
            file.display(),
            first.id(),
            first.job
        ))),
        _ => Ok(vec![entries]),
    }
}

/// R14: an entry from after this machine's now says that one of the two clocks is wrong.
pub(super) fn in_the_past(entries: &[Entry], file: &Path, site: &Site<'_>) -> Result<(), Failure> {
    let now: Moment = site.clock.now();
    match recorded_ahead(entries, now) {
        None => Ok(()),
        Some(entry) => Err(Refusal::new(
            Rule::Clock,
            format!("merge {}", file.display()),
            format!(
                "entry {} was recorded at {}; this machine's clock says {}",
                entry.id(),
                entry.recorded_at,
                now.at_offset(entry.recorded_at.offset())
            ),
            format!(
                "set the clock that is wrong; if it was the other one, strike the entry there and send the record again: \
                 cladlog strike {} --why \"the clock was ahead\"",
                entry.id()
            ),
        )
        .into()),
    }
}
