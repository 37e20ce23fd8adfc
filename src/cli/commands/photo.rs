//! `cladlog photo`: photos put on a subject.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::cli::photos::{bar, take};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Photo, Request};
use crate::photos::{camera, each};

/// Keep photos of the work beside the record
#[derive(Debug, Subcommand)]
pub enum PhotoCommand {
    /// Put photos on a subject: the files are kept beside the database
    Add(AddArgs),
}

/// Put photos on a subject: the files are kept beside the database
#[derive(Debug, Args)]
pub struct AddArgs {
    /// Photos (JPEG, PNG, WebP, HEIC); of a folder, the newest photo in it
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// What they show: N, N/J1..6, N/C3, N/O1, NE, job, or a list
    #[arg(long, value_name = "SUBJECT")]
    on: String,
    /// Key of the step that they show
    #[arg(long, value_name = "STEP")]
    step: Option<String>,
    /// What they show, in words
    #[arg(long, value_name = "TEXT")]
    text: Option<String>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`]; nothing is written then.
pub fn run(command: &PhotoCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let PhotoCommand::Add(args) = command;
    let zone = site.open()?.book.state.job.time_zone;
    let bar = bar("Checking photos", args.files.len());
    let taken = each(&args.files, |path| take(path, zone), &mut |done| bar.set_position(done as u64));
    bar.finish_and_clear();
    let mut photos: Vec<Photo> = Vec::new();
    for photo in taken {
        let photo = photo?;
        if let Some(same) = photos.iter().find(|other| other.sha256 == photo.sha256) {
            let (file, same) = (photo.source.display(), same.source.display());
            return Err(Failure::input(format!("{file}: is the same photo as {same}: give it once")));
        }
        photos.push(photo);
    }
    let told: Vec<String> = if out.is_json() { Vec::new() } else { photos.iter().map(seen).collect() };
    let (on, step, note) = (args.on.clone(), args.step.clone(), args.text.clone());
    site.record_and_tell(&Request::AddPhotos { on, step, note, photos }, out)?;
    told.into_iter().try_for_each(|line| out.line(line))
}

/// What was read of a photo, in a line.
fn seen(photo: &Photo) -> String {
    let facts = &photo.facts;
    let mut said = vec![facts.format.to_string()];
    if let (Some(width), Some(height)) = (facts.width_px, facts.height_px) {
        said.push(format!("{width} × {height}"));
    }
    said.push(facts.taken_at.map_or("no time in it".to_owned(), |at| format!("taken {at}")));
    // The file was read a moment ago; should it be gone by now, its place is simply not told.
    let notes = std::fs::read(&photo.source).map(|bytes| camera(&bytes)).unwrap_or_default();
    said.extend(notes.place.map(|place| place.to_string()));
    said.extend(notes.direction.map(|direction| direction.to_string()));
    if facts.format == crate::photos::PhotoSort::Heic {
        said.push("kept as a file; the pack shows no small picture of HEIC".to_owned());
    }
    format!("  {}: {}", photo.file, said.join(", "))
}
