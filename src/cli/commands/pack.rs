//! `cladlog pack`: the handover pack, as a folder and a zip.

use std::path::PathBuf;

use clap::Args;

use crate::cli::crew_key;
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::Out;
use crate::cli::passphrase::Passphrase;
use crate::cli::prompts::screen;
use crate::cli::site::Site;
use crate::day::{Book, State, check_clock, key_on_record};
use crate::handover::{Locations, Missing, Pack, PackOptions, Signer, has_pdf, missing, pack};
use crate::photos::Kept;
use crate::record::UseKey;

mod places;
mod reading;

use places::Places;

/// Write the handover pack: a folder and a zip of it
#[derive(Debug, Args)]
pub struct PackArgs {
    /// The folder to make; FOLDER.zip is made beside it
    pub folder: PathBuf,
    /// Pack a job that is not complete: the pack says what is missing
    #[arg(long)]
    pub interim: bool,
    #[command(flatten)]
    over: Overwrite,
    /// Take the places out of the photos: the pack holds copies then
    #[arg(long)]
    pub no_places: bool,
    /// The crew's signing key [default: beside the database, made on first use]
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
    /// Put the key under a passphrase, or give that of one that has it: asked for, or the first line of FILE
    #[arg(long, value_name = "FILE", require_equals = true)]
    #[expect(clippy::option_option, reason = "clap's way of an option whose value may be left out")]
    pub passphrase: Option<Option<PathBuf>>,
    /// Instead of the pack, a copy for reading with these names taken out, and without the record
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub withhold: Vec<String>,
    /// As --withhold, for everyone on the job
    #[arg(long, conflicts_with = "withhold")]
    pub without_people: bool,
    /// Also write the pages as PDF/A-1b, without the record: for validators that accept only PDF/A-1
    #[arg(long, value_name = "FILE")]
    pub pdf_a1b: Option<PathBuf>,
}

pub fn run(args: &PackArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let places = Places::of(&args.folder)?;
    places.refuse_existing(args.over.replace)?;
    if args.pdf_a1b.is_some() && !has_pdf() {
        return Err(Failure::input("--pdf-a1b: this build was made without the feature 'pdf'"));
    }
    args.pdf_a1b.iter().try_for_each(|file| args.over.may_write(file))?;
    if site.global.at.is_some() {
        return Err(Failure::input("a pack is of the record as it stands now: leave out --at"));
    }
    let mut opened = site.open()?;
    check_clock(&opened.book.state, "make a pack", opened.now)?;
    let lacking = missing(&opened.book.state, opened.now);
    if !lacking.is_empty() && !args.interim {
        return not_complete(&lacking, out);
    }
    if args.without_people || !args.withhold.is_empty() {
        return reading::write(args, &places, &site.database()?, &opened.book, opened.now, out);
    }
    let mut begun = places.begin(args.over.readable)?;
    let database = site.database()?;
    let signer = if opened.book.state.rehearsal {
        Signer::rehearsal()
    } else {
        let key = args.key.clone().unwrap_or_else(|| crew_key::beside(&database));
        crew_key::key(&key, args.passphrase.as_ref().map(Passphrase::of), out)?
    };
    if !opened.book.state.rehearsal && put_on_record(&signer, &opened.book, site, out)? {
        opened = site.open()?;
    }
    let originals = Kept::beside(&database);
    let bar = screen::progress("Pack");
    let mut progress = |what: &str, done: usize, all: usize| {
        bar.set_message(what.to_owned());
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    };
    let options = PackOptions {
        originals: &originals,
        locations: if args.no_places { Locations::Withheld } else { Locations::Kept },
        signer: &signer,
        pdf_a1b: args.pdf_a1b.is_some(),
    };
    let made = pack(&opened.book, opened.now, &options, &mut progress).map_err(Failure::machine)?;
    // Photos may be gone that the record names.
    if !made.missing.is_empty() && !args.interim {
        bar.finish_and_clear();
        return not_complete(&made.missing, out);
    }
    begun.write(&made.files, &mut progress)?;
    begun.write_zip(&made.files, &opened.now)?;
    begun.put()?;
    bar.finish_and_clear();
    if let Some((file, pages)) = args.pdf_a1b.as_ref().zip(made.pdf_a1b.as_deref()) {
        args.over.write(file, pages)?;
    }
    if !has_pdf() {
        out.say("This build leaves handover.pdf out: it was made without the feature 'pdf'.");
    }
    print(&made, &opened.book.state, &places, out)
}

/// Records the key's fingerprint where it is the first one or another than before; whether it was recorded. A pack of a
/// database that can't be written to is made all the same.
fn put_on_record(signer: &Signer, book: &Book, site: &Site<'_>, out: &mut Out) -> Result<bool, Failure> {
    let fingerprint = signer.fingerprint();
    let known = key_on_record(book);
    if known == Some(fingerprint.as_str()) {
        return Ok(false);
    }
    if let Some(known) = known {
        out.say(format!("This pack is signed by another key than before. Before: {known}. Now: {fingerprint}."));
    }
    match site.record(&UseKey { fingerprint }) {
        Ok(_) => Ok(true),
        Err(failure) => {
            out.say(format!("The key's fingerprint could not be recorded: {failure}"));
            Ok(false)
        }
    }
}

fn print(made: &Pack, state: &State, places: &Places, out: &mut Out) -> Result<(), Failure> {
    let complete = made.missing.is_empty();
    if out.is_json() {
        return out.json(&serde_json::json!({
            "folder": places.folder.display().to_string(),
            "zip": places.zip.display().to_string(),
            "complete": complete,
            "rehearsal": state.rehearsal,
            "missing": made.missing,
            "reservations": made.reservations,
            "files": made.files.iter().map(|(path, _)| path).collect::<Vec<_>>(),
        }));
    }
    out.line(format!("The pack of {} is in {}", state.job.name, places.folder.display()))?;
    out.line(format!("  and, to send, in {}.", places.zip.display()))?;
    if state.rehearsal {
        out.line("It is a rehearsal, and every page says so.")?;
    }
    if complete {
        out.line(match made.reservations.len() {
            0 => "The job is complete, and nothing is held back.".to_owned(),
            some => {
                format!("The job is complete, with {}: page 1 lists them.", crate::plain::count(some, "reservation"))
            }
        })?;
    } else {
        out.line(format!("The job is NOT complete; missing: {}. The pack says so first.", made.missing.len()))?;
    }
    let page = if has_pdf() { "handover.pdf" } else { "handover.html" };
    out.line(format!("Open {}. Check with: cladlog verify {}", page, places.folder.display()))
}

fn not_complete(missing: &[Missing], out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        out.json(&serde_json::json!({ "complete": false, "missing": missing }))?;
    } else {
        out.line("The job is not complete, so no pack was made. Missing:")?;
        let row = |one: &Missing| [one.on.clone(), one.status.clone(), one.what.clone()];
        out.table(["where", "status", "what"], missing.iter().map(row))?;
    }
    out.say("For a pack of the unfinished job, which says first what is missing: cladlog pack FOLDER --interim");
    Err(Failure::AnswerNo)
}
