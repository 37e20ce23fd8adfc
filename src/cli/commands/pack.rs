//! `cladlog pack`: the handover pack, as a folder and a zip.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use clap::Args;

use crate::cli::files::write_whole;
use crate::cli::site::Site;
use crate::cli::{Failure, Out, crew_key, prompts};
use crate::handover::{Album, Document, MANIFEST, Making, Pack, Signer, Told, has_pdf, pack, pdf_a1b, zip_into};
use crate::moment::{Moment, clock};
use crate::photos::Kept;
use crate::refusal::{Refusal, Rule};

mod reading;

/// Write the handover pack: a folder and a zip of it
#[derive(Debug, Args)]
pub struct PackArgs {
    /// The folder to make; FOLDER.zip is made beside it
    pub folder: PathBuf,
    /// Pack a job that is not complete: the pack says what is missing
    #[arg(long)]
    pub interim: bool,
    /// Write over a pack that is there already
    #[arg(long)]
    pub replace: bool,
    /// Take the places out of the photos: the pack holds copies then
    #[arg(long)]
    pub no_places: bool,
    /// The crew's signing key [default: beside the database, made on first use]
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
    /// Instead of the pack, a copy for reading with these names taken out, and without the record
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub withhold: Vec<String>,
    /// The same with the names of all people of the job
    #[arg(long, conflicts_with = "withhold")]
    pub without_people: bool,
    /// Also write the pages as PDF/A-1b, without the record: for validators that know no later part
    #[arg(long, value_name = "FILE")]
    pub pdf_a1b: Option<PathBuf>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure::No`] when the job is not complete and `--interim` is not given; nothing is written then.
pub fn run(args: &PackArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let places = Places::of(&args.folder)?;
    places.refuse_what_is_there(args.replace)?;
    if site.global.at.is_some() {
        return Err(Failure::input("a pack speaks of the record as it stands now: leave --at out"));
    }
    let opened = site.open()?;
    if let Some(last) = opened.book.state.last_recorded.filter(|last| *last - opened.now > TimeDelta::minutes(2)) {
        let why = format!(
            "this machine's clock says {}, but the last entry was recorded at {}",
            clock(&opened.now, last.date_naive()),
            clock(&last, last.date_naive())
        );
        return Err(Refusal::new(Rule::R14, "make a pack", why, "set the clock of this machine right").into());
    }
    let document = Document::of(&opened.book, opened.now);
    if !document.complete && !args.interim {
        return not_complete(&document, out);
    }
    if args.without_people || !args.withhold.is_empty() {
        return reading::write(args, &opened.book, opened.now, out);
    }
    let database = site.database()?;
    let signer = if document.rehearsal {
        Signer::rehearsal()
    } else {
        crew_key::key(&args.key.clone().unwrap_or_else(|| crew_key::beside(&database)), out)?
    };
    let originals = Kept::beside(&database);
    let bar = prompts::progress("Pack");
    let mut told = |what: &str, done: usize, all: usize| {
        bar.set_message(what.to_owned());
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    };
    let making = Making { originals: &originals, no_places: args.no_places, signer: &signer };
    let made = pack(&opened.book, opened.now, &making, &mut told).map_err(Failure::machine)?;
    // Photos may be gone that the record names.
    if !made.document.complete && !args.interim {
        bar.finish_and_clear();
        return not_complete(&made.document, out);
    }
    places.write(&made, &opened.now, &mut told)?;
    bar.finish_and_clear();
    if let Some(file) = &args.pdf_a1b {
        let album = Album::of(&opened.book, &originals, args.no_places, &mut |_, _| ());
        let bytes = pdf_a1b(&made.document, &album).map_err(Failure::machine)?;
        let bytes = bytes.ok_or_else(|| Failure::input("--pdf-a1b: this build was made without the feature 'pdf'"))?;
        write_whole(file, &bytes)?;
    }
    if !has_pdf() {
        out.say("This build leaves handover.pdf out: it was made without the feature 'pdf'.");
    }
    tell(&made, &places, out)
}

fn tell(made: &Pack, places: &Places, out: &mut Out) -> Result<(), Failure> {
    let document = &made.document;
    if out.is_json() {
        return out.json(&serde_json::json!({
            "folder": places.folder.display().to_string(),
            "zip": places.zip.display().to_string(),
            "complete": document.complete,
            "rehearsal": document.rehearsal,
            "missing": document.missing,
            "files": made.files.iter().map(|(path, _)| path).collect::<Vec<_>>(),
        }));
    }
    out.line(format!("The pack of {} is in {}", document.job.name, places.folder.display()))?;
    out.line(format!("  and, to send, in {}.", places.zip.display()))?;
    if document.rehearsal {
        out.line("It is a rehearsal, and every page says so.")?;
    }
    if document.complete {
        out.line("The job is complete.")?;
    } else {
        out.line(format!("The job is NOT complete; missing: {}. The pack says so first.", document.missing.len()))?;
    }
    let page = if has_pdf() { "handover.pdf" } else { "handover.html" };
    out.line(format!("Open {}. Check with: cladlog verify {}", page, places.folder.display()))
}

fn not_complete(document: &Document, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        out.json(&serde_json::json!({ "complete": false, "missing": document.missing }))?;
    } else {
        out.line("The job is not complete, so no pack was made. Missing:")?;
        let rows: Vec<Vec<String>> =
            document.missing.iter().map(|one| vec![one.on.clone(), one.stands.clone(), one.what.clone()]).collect();
        out.table(&["where", "how it stands", "what"], &rows)?;
    }
    out.say("For a pack of the unfinished job, which says first what is missing: cladlog pack FOLDER --interim");
    Err(Failure::No)
}

/// Where the pack goes.
struct Places {
    name: String,
    folder: PathBuf,
    zip: PathBuf,
}

impl Places {
    fn of(folder: &Path) -> Result<Self, Failure> {
        // Without the slash that a shell's completion leaves at the end.
        let folder: PathBuf = folder.components().collect();
        let name = folder.file_name().and_then(|name| name.to_str()).filter(|name| !name.contains(['\\', ':']));
        let Some(name) = name.map(str::to_owned) else {
            let what = format!("{}: can't be the name of a pack: give a new folder, such as pack", folder.display());
            return Err(Failure::input(what));
        };
        let zip = folder.with_file_name(format!("{name}.zip"));
        Ok(Self { name, folder, zip })
    }

    fn refuse_what_is_there(&self, replace: bool) -> Result<(), Failure> {
        let there = |path: &Path| std::fs::symlink_metadata(path).is_ok();
        if !there(&self.folder) && !there(&self.zip) {
            return Ok(());
        }
        if !replace {
            let at = if there(&self.folder) { &self.folder } else { &self.zip };
            return Err(Failure::input_mend(
                format!("{}: is there already", at.display()),
                "give another folder, or write over the pack that is there with --replace",
            ));
        }
        if there(&self.folder) && !self.folder.join(MANIFEST).is_file() {
            return Err(Failure::input(format!("{}: is not a pack, so it is not replaced", self.folder.display())));
        }
        if there(&self.zip) && !self.zip.is_file() {
            return Err(Failure::input(format!("{}: is not a pack, so it is not replaced", self.zip.display())));
        }
        Ok(())
    }

    /// Writes folder and zip beside their places and renames them: a pack is never half there.
    fn write(&self, made: &Pack, made_at: &Moment, told: &mut Told<'_>) -> Result<(), Failure> {
        let mark = std::process::id();
        let beside = |ending: &str| self.folder.with_file_name(format!("{}.{ending}-{mark}", self.name));
        let (part, part_zip, old) = (beside("part"), beside("part-zip"), beside("old"));
        let written = write_files(&part, made, told)
            .and_then(|()| self.write_zip(&part_zip, made, made_at))
            .and_then(|()| match std::fs::symlink_metadata(&self.folder) {
                Ok(_) => std::fs::rename(&self.folder, &old),
                Err(_) => Ok(()),
            })
            .and_then(|()| {
                std::fs::rename(&part, &self.folder).inspect_err(|_| {
                    // The old pack goes back where it was; if even that fails, it is still beside it.
                    let _ = std::fs::rename(&old, &self.folder);
                })
            })
            .and_then(|()| std::fs::rename(&part_zip, &self.zip));
        // What is left of a failure, or of the pack before, is of no use to anybody.
        let _ = std::fs::remove_dir_all(&part);
        let _ = std::fs::remove_file(&part_zip);
        if self.folder.exists() {
            let _ = std::fs::remove_dir_all(&old);
        }
        written.map_err(|error| Failure::machine(format!("{}: can't be written: {error}", self.folder.display())))
    }

    fn write_zip(&self, part: &Path, made: &Pack, made_at: &Moment) -> std::io::Result<()> {
        let mut file = std::io::BufWriter::new(std::fs::File::create(part)?);
        zip_into(&self.name, &made.files, made_at, &mut |bytes| file.write_all(bytes))
            .map_err(std::io::Error::other)?;
        file.into_inner().map_err(std::io::IntoInnerError::into_error)?.sync_all()
    }
}

fn write_files(folder: &Path, made: &Pack, told: &mut Told<'_>) -> std::io::Result<()> {
    for (done, (path, blob)) in made.files.iter().enumerate() {
        told("writing", done, made.files.len());
        let place = folder.join(path);
        if let Some(parent) = place.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(place, blob.read()?)?;
    }
    Ok(())
}
