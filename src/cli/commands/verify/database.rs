//! `cladlog verify` of a database: the file itself, then each job's read tables and photos against its entries.

use std::path::Path;

use rayon::prelude::*;

use crate::cli::failure::Failure;
use crate::cli::photos::{Named, named};
use crate::day::{Book, StampRow, stamps};
use crate::handover::{Checked, Failed, Verified};
use crate::photos::Kept;
use crate::plain::count;
use crate::record::{Fork, Store, StoreError, StoredJob, crew, forks};

/// What was found out about one job.
#[derive(Default)]
struct Found {
    /// The job's name.
    name: String,
    /// The read tables say something else than the entries.
    differs: bool,
    photos: Named,
    forks: Vec<Fork>,
    edited: Vec<String>,
    stamped: Vec<String>,
    flawed: Vec<Failed>,
}

/// Checks a database and the photos beside it.
pub(in crate::cli::commands) fn database(path: &Path) -> Result<Verified, Failure> {
    let store = match Store::read(path) {
        // Nothing more is asked of it: it might never answer.
        Err(error @ StoreError::Altered(_)) => {
            let failures = vec![Failed::whole(error.to_string())];
            return Ok(Verified { failures, ..Verified::default() });
        }
        store => store?,
    };
    let (entries, errors) = store.verify()?;
    let mut failures: Vec<Failed> = errors
        .into_iter()
        .map(|error| Failed { entry: Some(error.id).filter(|id| !id.is_empty()), ..Failed::whole(error.what) })
        .collect();
    let listed = store.jobs()?;
    let (mut photos, mut notes) = (Named::new(), Vec::new());
    // What is rebuilt from the entries is compared only when they hold.
    if failures.is_empty() {
        let jobs = store.jobs_with_entries()?;
        let found = each(&store, &jobs)?;
        let named = jobs.iter().zip(&found).map(|(job, found)| (job, &found.name));
        if !listed.iter().map(|job| (&job.key, &job.name)).eq(named) {
            failures.push(Failed::whole("the list of jobs doesn't match the entries; run cladlog rebuild".to_owned()));
        }
        for (job, found) in jobs.iter().zip(found) {
            if found.differs {
                let what = format!("the read tables of job {job} don't match its entries; run cladlog rebuild");
                failures.push(Failed::whole(what));
            }
            failures.extend(found.flawed);
            notes.extend(found.forks.iter().map(Fork::in_words).chain(found.edited).chain(found.stamped));
            for (photo, entry) in found.photos {
                photos.entry(photo).or_insert(entry);
            }
        }
        if !failures.is_empty() {
            photos.clear();
        }
    }
    let mut verified = Verified { failures, ..Verified::default() };
    verified.checked = Checked { entries, files: beside(path, &listed, photos, &mut verified) };
    verified.notes.append(&mut notes);
    Ok(verified)
}

/// Looks at every job, on all cores where there are several: one job says nothing of another.
fn each(store: &Store, jobs: &[String]) -> Result<Vec<Found>, Failure> {
    if jobs.len() < 2 {
        return jobs.iter().map(|job| look(store, job)).collect();
    }
    let path = store.path();
    let look_on = |own: &mut Option<Store>, job: &String| own.as_ref().map(|own| look(own, job));
    let found: Vec<_> = jobs.par_iter().map_init(|| Store::read(path).ok(), look_on).collect();
    // Where no other connection could be had, this one is used.
    found.into_iter().zip(jobs).map(|(found, job)| found.unwrap_or_else(|| look(store, job))).collect()
}

fn look(store: &Store, job: &str) -> Result<Found, Failure> {
    let entries = store.entries(job)?;
    let (photos, forks) = (named(&entries), forks(&entries));
    let book = Book::open(entries)?;
    let (stamped, flawed) = stamps(&book);
    let stamped = stamped.iter().map(StampRow::to_check).collect();
    let flawed = flawed
        .into_iter()
        .map(|(entry, flaw)| Failed { entry: Some(entry.to_string()), ..Failed::whole(flaw.in_words()) })
        .collect();
    let state = book.state;
    let edited = state.editions.iter().filter_map(|sequence| sequence.edited_in_words());
    let edited = edited.map(|edited| format!("in job {job} {edited}")).collect();
    Ok(Found {
        name: state.job.name.clone(),
        differs: state.read_tables() != store.read_tables(job)?,
        photos,
        forks,
        edited,
        stamped,
        flawed,
    })
}

/// Holds the photos beside the database against their hashes; gives the number of those that were there to be read.
fn beside(path: &Path, jobs: &[StoredJob], photos: Named, verified: &mut Verified) -> u64 {
    let kept = Kept::beside(path);
    let files = photos.len() as u64;
    // A book that came by merge or by hand may have left its photos behind: that is said, and is no error of the record.
    let own: Vec<&str> = jobs.iter().map(|job| crew(&job.device)).collect();
    let mut elsewhere = 0;
    for ((sha256, sort), entry) in photos {
        let place = kept.place(&sha256, sort);
        let taken_here = own.contains(&crew(&entry.device));
        let what = match place.is_file() {
            false if !taken_here => {
                elsewhere += 1;
                continue;
            }
            false => "the photo that this entry names is missing",
            true if kept.has(&sha256, sort) => continue,
            true => "it was changed: it is not the photo that this entry names",
        };
        let file = Some(place.display().to_string());
        verified.failures.push(Failed { entry: Some(entry.to_string()), file, what: what.to_owned() });
    }
    let photos = count(elsewhere, "photo");
    let is = if elsewhere == 1 { "is" } else { "are" };
    verified
        .notes
        .extend((elsewhere > 0).then(|| format!("{photos} of other crews {is} not beside this database: not checked")));
    files - elsewhere
}

/// The photos that a database's entries name, each with the first entry to name it.
pub(in crate::cli::commands) fn photos_of(store: &Store) -> Result<Named, Failure> {
    Ok(named(&store.all_entries()?))
}
