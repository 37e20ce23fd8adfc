//! `cladlog photo`: photos put on a subject.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::cli::failure::Failure;
use crate::cli::filters::ListArgs;
use crate::cli::out::Out;
use crate::cli::photos::{bar, take};
use crate::cli::site::{Site, print};
use crate::day::{AddPhotos, Photo, photos};
use crate::photos::{camera, each};

/// Keep photos of the work beside the record
#[derive(Debug, Subcommand)]
pub enum PhotoCommand {
    /// Attach photos to a subject: the files are kept beside the database
    Add(AddArgs),
    /// List the photos of the record, and what to know of each
    List(ListArgs),
}

#[derive(Debug, Args)]
pub struct AddArgs {
    /// Photos (JPEG, PNG, WebP, HEIC); of a folder, the newest photo in it
    #[arg(required = true)]
    files: Vec<PathBuf>,
    #[command(flatten)]
    photos: AddPhotos,
}

pub fn run(command: &PhotoCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        PhotoCommand::Add(args) => add(args, site, out),
        PhotoCommand::List(args) => list(args, site, out),
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (book, state) = (&opened.book, &opened.book.state);
    let filter = args.filters.read(state)?;
    let mut photos = photos(book);
    photos.retain(|photo| {
        let by = book.entry(&photo.entry).map(|entry| entry.by.as_str());
        filter.on(state, &photo.subject) && filter.at(&photo.at) && filter.by(by)
    });
    if args.csv.list("photos", &photos, out)? {
        return Ok(());
    }
    if photos.is_empty() {
        return out.line("No photos.");
    }
    for photo in &photos {
        let step = photo.step.as_ref().map(|step| format!(" ({step})")).unwrap_or_default();
        let at = photo.at.format("%a %-d %b %H:%M");
        out.wrapped(&format!("{at}  {}{step}  {}  {}", photo.subject, photo.file, photo.entry), 4)?;
        for line in photo.note.iter().chain(&photo.flags) {
            out.wrapped(&format!("    {line}"), 6)?;
        }
    }
    Ok(())
}

fn add(args: &AddArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let zone = journal.book().state.job.time_zone;
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
    let lines: Vec<String> = if out.is_json() { Vec::new() } else { photos.iter().map(seen).collect() };
    let recorded = site.record_in(&mut journal, &[&AddPhotos { photos, ..args.photos.clone() }])?;
    print(&recorded, journal.book(), out)?;
    lines.iter().try_for_each(|line| out.wrapped(line, 4))
}

/// What was read of a photo, in a line.
fn seen(photo: &Photo) -> String {
    let facts = &photo.facts;
    let mut notes = vec![facts.format.to_string()];
    if let (Some(width), Some(height)) = (facts.width_px, facts.height_px) {
        notes.push(format!("{width} × {height}"));
    }
    notes.push(facts.taken_at.map_or("no time in it".to_owned(), |at| format!("taken {at}")));
    // The file was read a moment ago; should it be gone by now, its place is simply left out.
    let seen = std::fs::read(&photo.source).map(|bytes| camera(&bytes)).unwrap_or_default();
    notes.extend(seen.place.map(|place| place.to_string()));
    notes.extend(seen.direction.map(|direction| direction.to_string()));
    if facts.format == crate::photos::PhotoSort::Heic {
        notes.push("kept as a file; the pack shows no small picture of HEIC".to_owned());
    }
    format!("  {}: {}", photo.file, notes.join(", "))
}
