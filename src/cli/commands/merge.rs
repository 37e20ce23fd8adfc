//! `cladlog merge`: another lead's entries, and the photos beside them, brought into this database.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::photos::{Copied, copy, named};
use crate::cli::site::{Recorded, RecordedEntry, Site, Warning};
use crate::cli::{Failure, Out};
use crate::day::{Book, Effects, Snapshot};
use crate::record::{Entry, MergeError, Store, StoredJob, Writing, added, devices_of};

use super::job::new_device;

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
    /// How many photos came along.
    #[serde(skip_serializing_if = "is_none")]
    photos: usize,
    #[serde(skip)]
    jobs: Vec<Told>,
    #[serde(skip)]
    from: BTreeSet<String>,
    #[serde(skip)]
    note: Option<String>,
}

/// A job as it stands after the merge.
#[derive(Debug)]
struct Told {
    key: String,
    is_new: bool,
    entries: usize,
    devices: usize,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference")]
fn is_none(count: &usize) -> bool {
    *count == 0
}

/// Runs the command.
///
/// # Errors
/// [`Failure`]: the file is no record, or does not hold, or does not belong here; nothing is written then.
pub fn run(args: &MergeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let path = site.database()?;
    let records = records(&args.file, site)?;
    for entries in &records {
        in_the_past(entries, &args.file, site)?;
        // Before anything is made: what can't be replayed leaves no file behind.
        Book::open(entries.clone()).map_err(|error| Failure::input(format!("{}: {error}", args.file.display())))?;
    }
    let fresh = !path.exists();
    let merged = bring_in(&args.file, &path, records, site).inspect_err(|_| {
        if fresh {
            // A database that was made for this and stayed empty; the message matters more than a leftover.
            let _ = std::fs::remove_file(&path);
        }
    })?;
    if out.is_json() { out.json(&merged) } else { merged.tell(out) }
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
    let recorded = Recorded { entries: Vec::new(), effects: Effects::default(), warnings };
    let (photos, note) = (copied.came, copied.note(file));
    let mut merged = Merged { recorded, photos, jobs: Vec::new(), from: BTreeSet::new(), note };
    store.write(|writing| records.into_iter().try_for_each(|theirs| merged.take_in(file, writing, theirs, site)))?;
    Ok(merged)
}

/// What of another record is new here; with the job as it is listed here and our entries.
#[allow(clippy::type_complexity, reason = "used in two places below")]
fn fitting(
    file: &Path,
    writing: &Writing<'_>,
    theirs: Vec<Entry>,
) -> Result<(Option<StoredJob>, Vec<Entry>, Vec<Entry>), Failure> {
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
    Ok((stored, ours, new))
}

impl Merged {
    /// Files what is new of one record.
    fn take_in(
        &mut self,
        file: &Path,
        writing: &Writing<'_>,
        theirs: Vec<Entry>,
        site: &Site<'_>,
    ) -> Result<(), Failure> {
        let key = theirs.first().map(|entry| entry.job.clone()).unwrap_or_default();
        let (stored, ours, new) = fitting(file, writing, theirs)?;
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
        self.jobs.push(Told { key, is_new: before.is_none(), entries, devices });
        Ok(())
    }

    fn tell(&self, out: &mut Out) -> Result<(), Failure> {
        for Told { key, is_new, entries, devices } in &self.jobs {
            let now_here = if *is_new { " The job is new here." } else { "" };
            let s = if *devices == 1 { "" } else { "s" };
            out.line(format!("Job {key}: now {entries} entries, {devices} device{s}.{now_here}"))?;
        }
        let from = self.from.iter().cloned().collect::<Vec<_>>().join(", ");
        out.line(match self.recorded.entries.len() {
            0 => "Nothing new: every entry of it is here already.".to_owned(),
            1 => format!("One entry came in, from {from}."),
            n => format!("{n} entries came in, from {from}."),
        })?;
        match self.photos {
            0 => {}
            1 => out.line("One photo came along.")?,
            n => out.line(format!("{n} photos came along."))?,
        }
        let mut wrapped = |line: &str| out.line(crate::cli::out::wrapped(line, 4, crate::cli::COLUMNS).join("\n"));
        if let Some(note) = &self.note {
            wrapped(&format!("  Note: {note} To bring photos: cladlog export --photos FILE"))?;
        }
        let effects = &self.recorded.effects;
        for (word, marks) in [("Opened", &effects.opened), ("Closed", &effects.closed)] {
            for mark in marks.iter().filter(|mark| mark.what == "defect") {
                wrapped(&format!("  {word} {} {}: {}", mark.what, mark.id, mark.says))?;
            }
        }
        Ok(())
    }
}
