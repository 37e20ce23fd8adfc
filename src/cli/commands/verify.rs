//! `cladlog verify` and `cladlog rebuild`.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Book;
use crate::record::{Body, Store, StoredJob};

/// Check a pack or a database: hashes, chains, and that what is read from them fits
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// A pack (folder or zip) or a database; the database in use when left out
    path: Option<PathBuf>,
}

/// What was checked, and what failed.
#[derive(Debug, Default, Serialize)]
pub struct Verified {
    /// Whether nothing failed.
    pub ok: bool,
    /// How much was looked at.
    pub checked: Checked,
    /// What failed.
    pub failures: Vec<Failed>,
}

/// How much was looked at.
#[derive(Debug, Default, Serialize)]
pub struct Checked {
    /// Entries.
    pub entries: u64,
    /// Files.
    pub files: u64,
}

/// One failure.
#[derive(Debug, Serialize)]
pub struct Failed {
    /// The entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<String>,
    /// The file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// What is wrong.
    pub what: String,
}

/// Runs `verify`.
///
/// # Errors
/// [`Failure::No`] when something fails, after naming it.
pub fn run(args: &VerifyArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let path = match &args.path {
        Some(path) => path.clone(),
        None => site.database()?,
    };
    let mut verified = database(&path)?;
    verified.ok = verified.failures.is_empty();
    tell(&verified, &path, out)
}

fn tell(verified: &Verified, path: &Path, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        out.json(verified)?;
    } else {
        let Checked { entries, files } = verified.checked;
        let files = if files == 0 { String::new() } else { format!(" and {files} files") };
        out.line(format!("{}: {entries} entries{files} checked.", path.display()))?;
        for failed in &verified.failures {
            let place = failed.entry.as_ref().map(|id| format!("entry {id}")).or(failed.file.clone());
            out.line(format!("  FAILS {}: {}", place.unwrap_or_else(|| "the file".into()), failed.what))?;
        }
        out.line(if verified.ok { "Everything holds." } else { "It does not hold." })?;
    }
    if verified.ok { Ok(()) } else { Err(Failure::No) }
}

fn database(path: &Path) -> Result<Verified, Failure> {
    let store = Store::read(path)?;
    let (entries, faults) = store.verify()?;
    let mut failures: Vec<Failed> = faults
        .into_iter()
        .map(|fault| Failed { entry: Some(fault.id).filter(|id| !id.is_empty()), file: None, what: fault.what })
        .collect();
    // What is rebuilt from the entries is compared only when they hold.
    if failures.is_empty() {
        for job in store.jobs()? {
            let book = Book::open(store.entries(&job.key)?)?;
            let (expected, found) = (book.state.read_side(), store.read_side(&job.key)?);
            let same =
                expected.struck == found.struck && expected.holds == found.holds && expected.defects == found.defects;
            if !same {
                let what =
                    format!("the read tables of job {} do not say what its entries say: cladlog rebuild", job.key);
                failures.push(Failed { entry: None, file: None, what });
            }
        }
    }
    Ok(Verified { ok: false, checked: Checked { entries, files: 0 }, failures })
}

/// Runs `rebuild`: writes the read tables anew from the entries.
///
/// # Errors
/// [`Failure`]; nothing is changed then.
pub fn rebuild(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut store = site.open_for_writing()?;
    let jobs = store.write(|writing| -> Result<usize, Failure> {
        let devices: Vec<(String, String)> = writing.jobs()?.into_iter().map(|job| (job.key, job.device)).collect();
        writing.relist_log()?;
        let keys = writing.jobs_with_entries()?;
        for key in &keys {
            let book = Book::open(writing.entries(key)?)?;
            let first = book.entries.iter().find(|entry| matches!(entry.body, Body::JobAdded { .. }));
            let own = devices.iter().find(|(job, _)| job == key).map(|(_, device)| device.clone());
            writing.list_job(&StoredJob {
                key: key.clone(),
                name: book.state.job.name.clone(),
                device: own.or_else(|| first.map(|entry| entry.device.clone())).unwrap_or_default(),
                rehearsal: book.state.rehearsal,
            })?;
            writing.replace_read_side(key, &book.state.read_side())?;
        }
        Ok(keys.len())
    })?;
    if out.is_json() {
        return out.json(&serde_json::json!({ "jobs": jobs }));
    }
    out.line(format!("The read tables of {jobs} jobs are written anew from their entries."))
}
