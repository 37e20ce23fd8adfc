//! `cladlog merge`: another lead's entries, and the photos beside them, brought into this database.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::job::new_device;
use crate::cli::failure::Failure;
use crate::cli::files::exists;
use crate::cli::out::Out;
use crate::cli::photos::{Copied, copy, named};
use crate::cli::site::{Recorded, RecordedEntry, Site, Warning};
use crate::day::{Book, Effects, Snapshot};
use crate::plain::count;
use crate::record::{Entry, MergeError, Store, StoredJob, Writing, added, devices_of};

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
struct Merged {
    #[serde(flatten)]
    recorded: Recorded,
    /// How many photos are new here.
    #[serde(skip_serializing_if = "Option::is_none")]
    photos: Option<usize>,
    #[serde(skip)]
    jobs: Vec<MergedJob>,
    #[serde(skip)]
    from: BTreeSet<String>,
    #[serde(skip)]
    note: Option<String>,
}

/// A job as it is after the merge.
#[derive(Debug)]
struct MergedJob {
    key: String,
    is_new: bool,
    entries: usize,
    devices: usize,
}

pub fn run(args: &MergeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let records = records(&args.file, site)?;
    for entries in &records {
        in_the_past(entries, &args.file, site)?;
        // Before anything is made: what can't be replayed leaves no file behind.
        Book::open(entries.clone()).map_err(|error| Failure::input(format!("{}: {error}", args.file.display())))?;
    }
    let path = site.new_database()?;
    let is_new = !exists(&path);
    let merged = bring_in(&args.file, &path, records, site).inspect_err(|_| {
        if is_new {
            // A database that was made for this and stayed empty; the message matters more than a leftover.
            let _ = std::fs::remove_file(&path);
        }
    })?;
    if out.is_json() { out.json(&merged) } else { merged.lines().iter().try_for_each(|line| out.wrapped(line, 4)) }
}

/// Brings photos and entries in: the photos are safe on the disk before an entry that names them is committed, and none
/// is copied for entries that are refused.
fn bring_in(file: &Path, path: &Path, records: Vec<Vec<Entry>>, site: &Site<'_>) -> Result<Merged, Failure> {
    let mut store = Store::create(path)?;
    let photos = named(records.iter().flatten());
    let mut copied = Copied::default();
    if !photos.is_empty() {
        store.write(|writing| {
            records.iter().try_for_each(|theirs| fitting(file, writing, theirs.clone()).map(|_| ()))
        })?;
        // Others need not wait for the copying.
        copied = copy(file, path, &photos)?;
    }
    let says = |entry: &String| format!("the photo of entry {entry} is not beside {}", file.display());
    let warnings = copied.missing.iter().map(|entry| Warning { sort: "photo", says: says(entry) }).collect();
    let mut merged = Merged {
        recorded: Recorded { entries: Vec::new(), effects: Effects::default(), warnings },
        photos: Some(copied.new).filter(|photos| *photos > 0),
        jobs: Vec::new(),
        from: BTreeSet::new(),
        note: copied.note(file),
    };
    store.write(|writing| records.into_iter().try_for_each(|theirs| merged.take_in(file, writing, theirs, site)))?;
    Ok(merged)
}

/// What is new in another record of a job, and what is here of it.
struct Fitting {
    stored: Option<StoredJob>,
    ours: Vec<Entry>,
    new: Vec<Entry>,
}

/// Checks that another record fits what is here.
fn fitting(file: &Path, writing: &Writing<'_>, theirs: Vec<Entry>) -> Result<Fitting, Failure> {
    let refused = |error: MergeError| about(file, &error);
    let key = theirs.first().map(|entry| entry.job.clone()).unwrap_or_default();
    let stored = writing.jobs()?.into_iter().find(|job| job.key == key);
    let ours = if stored.is_some() { writing.entries(&key)? } else { Vec::new() };
    for device in devices_of(&theirs) {
        if let Some(job) = writing.job_of(device)?.filter(|job| *job != key) {
            let what = format!("device {device} writes the book of job {job} here, not of job {key}");
            return Err(refused(MergeError::Entry { id: format!("{device}-1"), what }));
        }
    }
    let new = added(&ours, theirs).map_err(refused)?;
    Ok(Fitting { stored, ours, new })
}

impl Merged {
    /// Files what is new in one record.
    fn take_in(
        &mut self,
        file: &Path,
        writing: &Writing<'_>,
        theirs: Vec<Entry>,
        site: &Site<'_>,
    ) -> Result<(), Failure> {
        let key = theirs.first().map(|entry| entry.job.clone()).unwrap_or_default();
        let Fitting { stored, ours, new } = fitting(file, writing, theirs)?;
        for entry in &new {
            writing.insert(entry)?;
            self.recorded.entries.push(RecordedEntry::from(entry));
            self.from.insert(entry.device.clone());
        }
        let before = if ours.is_empty() { None } else { Some(Book::open(ours.clone())?) };
        let book = Book::open(ours.into_iter().chain(new).collect())?;
        let now = site.clock.now().at_site(book.state.job.time_zone);
        let own = stored.as_ref().map_or_else(new_device, |job| Ok(job.device.clone()))?;
        let rehearsal = book.state.rehearsal || stored.as_ref().is_some_and(|job| job.rehearsal);
        let name = book.state.job.name.clone();
        writing.list_job(&StoredJob { key: key.clone(), name, device: own, rehearsal })?;
        let after = Snapshot::of(&book.state, now);
        let effects = &mut self.recorded.effects;
        match &before {
            Some(before) => {
                writing.update_read_side(&key, &before.state.read_side(), &book.state.read_side())?;
                let found = Snapshot::of(&before.state, now).effects(&after);
                effects.opened.extend(found.opened);
                effects.closed.extend(found.closed);
            }
            None => {
                writing.replace_read_side(&key, &book.state.read_side())?;
                effects.opened.extend(Snapshot::default().effects(&after).opened);
            }
        }
        let (entries, devices) = (book.entries.len(), devices_of(&book.entries).len());
        self.jobs.push(MergedJob { key, is_new: before.is_none(), entries, devices });
        Ok(())
    }

    fn lines(&self) -> Vec<String> {
        let from = self.from.iter().cloned().collect::<Vec<_>>().join(", ");
        let mut lines = vec![match self.recorded.entries.len() {
            0 => "Nothing to merge: every entry is already here.".to_owned(),
            number => format!("Merged {} from {from}.", count(number, "entry")),
        }];
        lines.extend(self.photos.map(|photos| format!("Copied {}.", count(photos, "photo"))));
        lines.extend(self.jobs.iter().map(|MergedJob { key, is_new, entries, devices }| {
            let is_new = if *is_new { " It is new in this database." } else { "" };
            format!("Job {key} now has {} from {}.{is_new}", count(*entries, "entry"), count(*devices, "device"))
        }));
        lines.extend(
            self.note.iter().map(|note| format!("  Note: {note} To bring photos: cladlog export --photos FILE")),
        );
        for (word, marks) in [("Opened", &self.recorded.effects.opened), ("Closed", &self.recorded.effects.closed)] {
            let defects = marks.iter().filter(|mark| mark.what == "defect");
            lines.extend(defects.map(|mark| format!("  {word} defect {}: {}", mark.id, mark.says)));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moment::Moment;

    fn merged(entries: usize, devices: usize, photos: Option<usize>) -> Merged {
        let at = Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap();
        let entry = |seq: usize| RecordedEntry {
            id: format!("ivo-{seq}"),
            hash: String::new(),
            kind: "noted".to_owned(),
            subject: "N".to_owned(),
            happened_at: at,
            recorded_at: at,
            late: false,
        };
        let entries: Vec<RecordedEntry> = (1..=entries).map(entry).collect();
        let job = MergedJob { key: "j".to_owned(), is_new: devices == 1, entries: entries.len(), devices };
        Merged {
            recorded: Recorded { entries, effects: Effects::default(), warnings: Vec::new() },
            photos,
            jobs: vec![job],
            from: BTreeSet::from(["ivo".to_owned()]),
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
