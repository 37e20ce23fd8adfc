//! `cladlog backup` and `cladlog export`: copies of the record.

use std::path::PathBuf;

use clap::Args;

use super::verify::database::photos_of;
use crate::cli::failure::Failure;
use crate::cli::files::{must_be_new, write_whole};
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
}

/// Write the job's entries as JSON lines, for another lead to merge
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The file to make
    file: PathBuf,
    /// Copy the photos too, to FILE.photos: a merge takes them from there
    #[arg(long)]
    photos: bool,
}

pub fn backup(args: &BackupArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    must_be_new(&args.file)?;
    let from = site.database()?;
    let store = Store::read(&from)?;
    store.backup(&args.file)?;
    // Read after the copy was made: what it names is among these.
    copy(&from, &args.file, &photos_of(&store)?)?;
    let file = args.file.display().to_string();
    if out.is_json() {
        return out.json(&serde_json::json!({ "file": file }));
    }
    out.line(format!("Copied to {file}. To check the copy: cladlog verify {file}"))
}

pub fn export(args: &ExportArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    must_be_new(&args.file)?;
    let opened = site.open()?;
    let entries = &opened.book.entries;
    let photos = named(entries);
    // The photos first: the file that names them is there only when they are.
    let copied = if args.photos { Some(copy(&site.database()?, &args.file, &photos)?) } else { None };
    write_whole(&args.file, jsonl(entries).as_bytes())?;
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
            "It names {} without holding them: use --photos to send them.",
            count(photos.len(), "photo")
        )),
    }
}
