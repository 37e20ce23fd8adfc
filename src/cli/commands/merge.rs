//! `cladlog merge`: another lead's entries, and the photos beside them, brought into this database.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::failure::Failure;
use crate::cli::files::exists;
use crate::cli::out::Out;
use crate::cli::photos::{Copied, copy, named};
use crate::cli::site::Site;
use crate::day::{Book, Thing};
use crate::journal::{JournalError, Merged, Recorded, Warning, WarningKind, check_fits, merge};
use crate::photos::Kept;
use crate::plain::count;
use crate::record::{Entry, EntryId, Fork, Store, Writing, new_device};

mod reading;

use reading::{about, in_the_past, records};

/// Bring in another lead's entries, and the photos beside them in FILE.photos
#[derive(Debug, Args)]
pub struct MergeArgs {
    /// The export (JSON lines) or the database
    file: PathBuf,
}

/// What came of it.
#[derive(Debug, Serialize)]
struct Answer {
    #[serde(flatten)]
    recorded: Recorded,
    /// How many photos are new here.
    #[serde(skip_serializing_if = "Option::is_none")]
    photos: Option<usize>,
    /// The books that forked: two files went on as one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    forks: Vec<Fork>,
    #[serde(skip)]
    jobs: Vec<Merged>,
    #[serde(skip)]
    note: Option<String>,
}

pub fn run(args: &MergeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let records = records(&args.file, site)?;
    for entries in &records {
        in_the_past(entries, &args.file, site)?;
        // Before anything is made: what can't be replayed leaves no file behind.
        Book::open(entries.clone()).map_err(|error| Failure::input(format!("{}: {error}", args.file.display())))?;
    }
    let path = site.new_database()?;
    let (is_new, photos) = (!exists(&path), Kept::beside(&path).folder().to_owned());
    let photos_are_new = is_new && !exists(&photos);
    let merged = bring_in(&args.file, &path, records, site).inspect_err(|_| {
        // What was made for this and is of no use; the message matters more than a leftover.
        if is_new {
            let _ = std::fs::remove_file(&path);
        }
        if photos_are_new {
            let _ = std::fs::remove_dir_all(&photos);
        }
    })?;
    if out.is_json() { out.json(&merged) } else { merged.lines().iter().try_for_each(|line| out.wrapped(line, 4)) }
}

/// Brings photos and entries in: the photos are safe on the disk before an entry that names them is committed, and none
/// is copied for entries that are refused.
fn bring_in(file: &Path, path: &Path, records: Vec<Vec<Entry>>, site: &Site<'_>) -> Result<Answer, Failure> {
    let mut store = Store::create(path)?;
    let refused = |error: JournalError| match error {
        JournalError::Merge(error) => about(file, &error),
        other => other.into(),
    };
    let photos = named(records.iter().flatten());
    let mut copied = Copied::default();
    if !photos.is_empty() {
        let fit = store.write(|writing| records.iter().try_for_each(|theirs| check_fits(writing, theirs)));
        fit.map_err(refused)?;
        // Others need not wait for the copying.
        copied = copy(file, path, &photos)?;
    }
    let says = |entry: &EntryId| format!("the photo of entry {entry} is not beside {}", file.display());
    let warnings = copied.missing.iter().map(|entry| Warning { kind: WarningKind::Photo, says: says(entry) }).collect();
    let (device, now) = (new_device(), site.clock.now());
    let each = |writing: &mut Writing<'_>| {
        records.into_iter().map(|theirs| merge(writing, theirs, &device, now)).collect::<Result<Vec<_>, _>>()
    };
    let mut jobs = store.write(each).map_err(refused)?;
    let mut recorded = Recorded { warnings, ..Recorded::default() };
    let mut forks = Vec::new();
    for merged in &mut jobs {
        forks.append(&mut merged.forks);
        recorded.entries.append(&mut merged.added);
        recorded.effects.extend(std::mem::take(&mut merged.effects));
    }
    let photos = Some(copied.new).filter(|photos| *photos > 0);
    Ok(Answer { recorded, photos, forks, jobs, note: copied.note(file) })
}

impl Answer {
    fn lines(&self) -> Vec<String> {
        let from: BTreeSet<&str> = self.recorded.entries.iter().map(|entry| &*entry.id.device).collect();
        let from = from.into_iter().collect::<Vec<_>>().join(", ");
        let mut lines = vec![match self.recorded.entries.len() {
            0 => "Nothing to merge: every entry is already here.".to_owned(),
            number => format!("Merged {} from {from}.", count(number, "entry")),
        }];
        lines.extend(self.photos.map(|photos| format!("Copied {}.", count(photos, "photo"))));
        lines.extend(self.jobs.iter().map(|Merged { job, is_new, entries, devices, .. }| {
            let is_new = if *is_new { " It is new in this database." } else { "" };
            format!("Job {job} now has {} from {}.{is_new}", count(*entries, "entry"), count(*devices, "device"))
        }));
        lines.extend(self.forks.iter().map(|fork| format!("  Note: {}.", fork.in_words())));
        lines.extend(
            self.note.iter().map(|note| format!("  Note: {note} To bring photos: cladlog export --photos FILE")),
        );
        for (word, marks) in [("Opened", &self.recorded.effects.opened), ("Closed", &self.recorded.effects.closed)] {
            let defects = marks.iter().filter(|mark| matches!(mark.thing, Thing::Defect(_)));
            lines.extend(defects.map(|mark| format!("  {word} defect {}: {}", mark.id, mark.says)));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::RecordedEntry;
    use crate::moment::Moment;

    fn merged(entries: u64, devices: usize, photos: Option<usize>) -> Answer {
        let at = Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap();
        let entry = |seq| RecordedEntry {
            id: EntryId::new("ivo", seq),
            hash: String::new(),
            kind: "noted".to_owned(),
            subject: "N".to_owned(),
            happened_at: at,
            recorded_at: at,
            late: false,
        };
        let entries: Vec<RecordedEntry> = (1..=entries).map(entry).collect();
        let job = Merged {
            job: "j".to_owned(),
            is_new: devices == 1,
            entries: entries.len(),
            devices,
            added: Vec::new(),
            forks: Vec::new(),
            effects: Default::default(),
        };
        Answer {
            recorded: Recorded { entries, ..Recorded::default() },
            photos,
            forks: Vec::new(),
            jobs: vec![job],
            note: None,
        }
    }

    #[test]
    fn what_came_is_said_of_none_one_and_two() {
        assert_eq!(
            merged(0, 2, None).lines(),
            ["Nothing to merge: every entry is already here.", "Job j now has 0 entries from 2 devices."]
        );
        assert_eq!(
            merged(1, 1, Some(1)).lines(),
            [
                "Merged 1 entry from ivo.",
                "Copied 1 photo.",
                "Job j now has 1 entry from 1 device. It is new in this database."
            ]
        );
        assert_eq!(
            merged(2, 2, Some(2)).lines(),
            ["Merged 2 entries from ivo.", "Copied 2 photos.", "Job j now has 2 entries from 2 devices."]
        );
    }
}
