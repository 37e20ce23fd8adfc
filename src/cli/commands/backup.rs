//! `cladlog backup` and `cladlog export`: copies of the record.

use std::path::PathBuf;

use clap::Args;

use crate::cli::photos::{copy, named};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::record::Store;

/// Copy the database, and the photos beside it, while others may write to it
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// The file to make
    file: PathBuf,
}

/// Write the job's entries as JSON lines
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The file to make
    file: PathBuf,
    /// Lay the photos beside it, in FILE.photos: a merge takes them from there
    #[arg(long)]
    photos: bool,
}

/// Runs `backup`.
///
/// # Errors
/// [`Failure`]; a file that is there already is left alone.
pub fn backup(args: &BackupArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    refuse_existing(&args.file)?;
    let from = site.database()?;
    let store = Store::read(&from)?;
    store.backup(&args.file)?;
    // Read after the copy was made: what it names is among these.
    let photos = super::verify_database::photos_of(&store)?;
    copy(&from, &args.file, &photos)?;
    if out.is_json() {
        return out.json(&serde_json::json!({ "file": args.file.display().to_string() }));
    }
    out.line(format!("Copied to {}. Check it with: cladlog verify {}", args.file.display(), args.file.display()))
}

/// Runs `export`.
///
/// # Errors
/// [`Failure`]; a file that is there already is left alone.
pub fn export(args: &ExportArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    refuse_existing(&args.file)?;
    let opened = site.open()?;
    let entries = &opened.book.entries;
    let photos = named(entries);
    // The photos first: the file that names them is there only when they are.
    let copied = if args.photos { Some(copy(&site.database()?, &args.file, &photos)?) } else { None };
    crate::cli::files::write_whole(&args.file, crate::record::jsonl(entries).as_bytes())?;
    if out.is_json() {
        let mut told = serde_json::json!({ "file": args.file.display().to_string(), "entries": entries.len() });
        if let Some(copied) = &copied {
            told["photos"] = (photos.len() - copied.missing.len()).into();
            told["photos_missing"] = copied.missing.clone().into();
        }
        return out.json(&told);
    }
    out.line(format!("{} entries written to {}.", entries.len(), args.file.display()))?;
    match copied {
        Some(copied) => {
            let beside = photos.len() - copied.missing.len();
            let s = if beside == 1 { "" } else { "s" };
            out.line(format!("{beside} photo{s} laid beside it, in {}.photos.", args.file.display()))?;
            copied.note(&site.database()?).map_or(Ok(()), |note| out.line(note))
        }
        None if photos.is_empty() => Ok(()),
        None => out.line("It names photos but holds none: --photos lays them beside it."),
    }
}

fn refuse_existing(file: &std::path::Path) -> Result<(), Failure> {
    if file.exists() {
        return Err(Failure::input(format!("{}: is there already; it is not written over", file.display())));
    }
    Ok(())
}
