//! `cladlog backup` and `cladlog export`: copies of the record.

use std::path::PathBuf;

use clap::Args;

use super::verify::database::photos_of;
use crate::atomic_file::{folder_of, sweep};
use crate::cli::crew_key;
use crate::cli::failure::Failure;
use crate::cli::files::{access, must_be_new, unwritten, write_as};
use crate::cli::out::Out;
use crate::cli::photos::{copy, named};
use crate::cli::site::Site;
use crate::plain::count;
use crate::record::{Store, jsonl};

/// Copy the database and its photos, while others may be writing to it
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// The file to make
    file: PathBuf,
    /// Copy the signing key too, to FILE.key: whoever has it can sign as this crew
    #[arg(long)]
    with_key: bool,
}

/// Write the job's entries as JSON lines, for another lead to merge
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The file to make
    file: PathBuf,
    /// Copy the photos too, to FILE.photos: a merge takes them from there
    #[arg(long)]
    photos: bool,
    /// Let other users of this machine read it
    #[arg(long)]
    readable: bool,
}

pub fn backup(args: &BackupArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    must_be_new(&args.file)?;
    let from = site.database()?;
    let store = Store::read(&from)?;
    sweep(folder_of(&args.file));
    let backup = store.backup(&args.file)?;
    // Read after the copy was made: what it names is among these. The file gets its name when all is there.
    let photos = copy(&from, &args.file, &photos_of(&store)?)?;
    let key = args.with_key && crew_key::copy(&from, &args.file)?;
    backup.commit_new().map_err(|error| unwritten(&args.file, &error))?;
    let file = args.file.display().to_string();
    if out.is_json() {
        let missing: Vec<String> = photos.missing.iter().map(ToString::to_string).collect();
        return out.json(&serde_json::json!({ "file": file, "photos_missing": missing, "key": key }));
    }
    out.line(format!("Copied to {file}. To check the copy: cladlog verify {file}"))?;
    photos.note(&from).map_or(Ok(()), |note| out.wrapped(&format!("Note: {note}"), 2))?;
    match (key, args.with_key) {
        (true, _) => out.line(format!("The signing key is in {file}.key: keep it private.")),
        (false, true) => out.line("There is no signing key yet."),
        (false, false) if !crew_key::beside(&from).exists() => Ok(()),
        (false, false) => out.line("The signing key was not copied; add --with-key to copy it."),
    }
}

pub fn export(args: &ExportArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    must_be_new(&args.file)?;
    let opened = site.open()?;
    let entries = &opened.book.entries;
    let photos = named(entries);
    // The photos first: the file that names them is there only when they are.
    let copied = if args.photos { Some(copy(&site.database()?, &args.file, &photos)?) } else { None };
    write_as(&args.file, access(args.readable), jsonl(entries).as_bytes())?;
    let file = args.file.display().to_string();
    if out.is_json() {
        let mut report = serde_json::json!({ "file": file, "entries": entries.len() });
        if let Some(copied) = &copied {
            report["photos"] = (photos.len() - copied.missing.len()).into();
            report["photos_missing"] = copied.missing.iter().map(ToString::to_string).collect();
        }
        return out.json(&report);
    }
    out.line(format!("Wrote {} to {file}.", count(entries.len(), "entry")))?;
    match copied {
        Some(copied) => {
            let there = photos.len() - copied.missing.len();
            out.line(format!("Copied {} to {file}.photos.", count(there, "photo")))?;
            copied.note(&site.database()?).map_or(Ok(()), |note| out.line(note))
        }
        None if photos.is_empty() => Ok(()),
        None => out.line(format!(
            "It refers to {} but does not include them; add --photos to send them.",
            count(photos.len(), "photo")
        )),
    }
}
