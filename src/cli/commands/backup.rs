//! `cladlog backup` and `cladlog export`: copies of the record.

use std::path::PathBuf;

use clap::Args;

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
    crate::cli::photos::copy(&from, &args.file, &photos)?;
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
    let text = crate::record::jsonl(&opened.book.entries);
    crate::cli::files::write_whole(&args.file, text.as_bytes())?;
    if out.is_json() {
        return out.json(&serde_json::json!({
            "file": args.file.display().to_string(), "entries": opened.book.entries.len(),
        }));
    }
    out.line(format!("{} entries written to {}.", opened.book.entries.len(), args.file.display()))
}

fn refuse_existing(file: &std::path::Path) -> Result<(), Failure> {
    if file.exists() {
        return Err(Failure::input(format!("{}: is there already; it is not written over", file.display())));
    }
    Ok(())
}
