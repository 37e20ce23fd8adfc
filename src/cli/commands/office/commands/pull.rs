//! `cladlog office pull`.

use std::path::{Path, PathBuf};

use clap::Args;

use super::photos::OfficePhotos;
use crate::cli::failure::Failure;
use crate::cli::files::{access, must_be_new, write_as};
use crate::cli::out::Out;
use crate::cli::photos::named;
use crate::cli::site::Site;
use crate::office::{Server, jobs, record};
use crate::photos::Kept;
use crate::plain::count;
use crate::record::jsonl;

/// Write a job's entries as JSON lines, as cladlog export does
#[derive(Debug, Args)]
pub struct PullArgs {
    /// The file to make
    file: PathBuf,
    /// Copy the photos too, from this folder or object store of the office to FILE.photos: a merge takes them from there
    #[arg(long, value_name = "FOLDER|s3://BUCKET")]
    photos: Option<String>,
    /// Let other users of this machine read it
    #[arg(long)]
    readable: bool,
}

pub fn run(args: &PullArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    must_be_new(&args.file)?;
    let mut found = jobs(&mut server, site.global.job.as_deref())?;
    let job = match (found.pop(), found.is_empty()) {
        (Some(only), true) => only,
        (None, _) => return Err(Failure::input("the office holds no job that this login may see")),
        (Some(_), false) => return Err(Failure::input("which job? Give --job KEY: cladlog office board lists them")),
    };
    let entries = record(&mut server, &job)?;
    // The photos first: the file that names them is there only when they are.
    let photos = args.photos.as_ref().map(|place| (place, named(&entries)));
    let copied = match &photos {
        Some((place, photos)) => Some(OfficePhotos::open(place)?.give(&Kept::beside(&args.file), photos)?),
        None => None,
    };
    write_as(&args.file, access(args.readable), jsonl(&entries).as_bytes())?;
    let file = args.file.display().to_string();
    if out.is_json() {
        let mut report = serde_json::json!({ "file": file, "entries": entries.len() });
        if let Some(copied) = &copied {
            report["photos"] = copied.new.into();
            report["photos_missing"] = copied.missing.iter().map(ToString::to_string).collect();
        }
        return out.json(&report);
    }
    out.line(format!("Wrote {} to {file}.", count(entries.len(), "entry")))?;
    if let (Some(copied), Some((place, _))) = (copied, photos) {
        out.line(format!("Copied {} to {file}.photos.", count(copied.new, "photo")))?;
        copied.note(Path::new(place)).map_or(Ok(()), |note| out.wrapped(&format!("Note: {note}"), 2))?;
    }
    Ok(())
}
