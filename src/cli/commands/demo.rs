//! `cladlog demo`: the invented job, replayed from its inputs.

use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};

use clap::Args;
use sha2::{Digest, Sha256};

use crate::cli::clock::Clock;
use crate::cli::failure::Failure;
use crate::cli::files::unwritten;
use crate::cli::job_files::from_text;
use crate::cli::out::Out;
use crate::cli::prompts::screen::progress;
use crate::cli::script::{Replay, Run};
use crate::day::set_up;
use crate::handover::{Signer, has_pdf};
use crate::journal::{Journal, NewJob};
use crate::moment::Moment;
use crate::record::Store;

/// The job of the demonstration.
const JOB: &str = include_str!("../../../demo-db/job.toml");
/// Its site days.
const DAYS: &str = include_str!("../../../demo-db/days.txt");
/// The readings that its sums take.
const INPUTS: &[(&str, &str)] = &[
    ("starter.csv", include_str!("../../../demo-db/starter.csv")),
    ("north-frame.csv", include_str!("../../../demo-db/north-frame.csv")),
    ("dust.csv", include_str!("../../../demo-db/dust.csv")),
    ("forecast-wednesday.csv", include_str!("../../../demo-db/forecast-wednesday.csv")),
    ("forecast.csv", include_str!("../../../demo-db/forecast.csv")),
];
/// Its invented photos.
const PHOTOS: &[(&str, &[u8])] = &[
    ("north-packed.jpg", include_bytes!("../../../demo-db/photos/north-packed.jpg")),
    ("west-stud.jpg", include_bytes!("../../../demo-db/photos/west-stud.jpg")),
    ("north-frame.jpg", include_bytes!("../../../demo-db/photos/north-frame.jpg")),
    ("east-frame.jpg", include_bytes!("../../../demo-db/photos/east-frame.jpg")),
    ("south-frame.jpg", include_bytes!("../../../demo-db/photos/south-frame.jpg")),
    ("west-frame.jpg", include_bytes!("../../../demo-db/photos/west-frame.jpg")),
    ("south-base.jpg", include_bytes!("../../../demo-db/photos/south-base.jpg")),
    ("north-sill.jpg", include_bytes!("../../../demo-db/photos/north-sill.jpg")),
    ("north-before-cladding.jpg", include_bytes!("../../../demo-db/photos/north-before-cladding.jpg")),
    ("east-frame-again.jpg", include_bytes!("../../../demo-db/photos/east-frame-again.jpg")),
    ("east-before-cladding.jpg", include_bytes!("../../../demo-db/photos/east-before-cladding.jpg")),
    ("south-before-cladding.jpg", include_bytes!("../../../demo-db/photos/south-before-cladding.jpg")),
    ("west-before-cladding.jpg", include_bytes!("../../../demo-db/photos/west-before-cladding.jpg")),
    ("west-sill-refused.jpg", include_bytes!("../../../demo-db/photos/west-sill-refused.jpg")),
    ("west-sill-lapped.jpg", include_bytes!("../../../demo-db/photos/west-sill-lapped.jpg")),
    ("corner-nw.jpg", include_bytes!("../../../demo-db/photos/corner-nw.jpg")),
    ("north-pull.jpg", include_bytes!("../../../demo-db/photos/north-pull.jpg")),
    ("bin-store.jpg", include_bytes!("../../../demo-db/photos/bin-store.jpg")),
    ("north-finished.jpg", include_bytes!("../../../demo-db/photos/north-finished.jpg")),
    ("east-finished.jpg", include_bytes!("../../../demo-db/photos/east-finished.jpg")),
    ("south-finished.png", include_bytes!("../../../demo-db/photos/south-finished.png")),
    ("west-finished.jpg", include_bytes!("../../../demo-db/photos/west-finished.jpg")),
];
/// The device of the demonstration: always the same, so that its entries are too.
const DEVICE: &str = "demo";

/// Replay an invented job to a finished pack
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// The folder to make
    #[arg(default_value = "cladlog-demo")]
    folder: PathBuf,
}

pub fn run(args: &DemoArgs, commands: Run, out: &mut Out) -> Result<(), Failure> {
    let folder = &args.folder;
    if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(Failure::input_hint(
            format!("{}: already exists and is not empty", folder.display()),
            "give another folder, or remove this one first",
        ));
    }
    let (database, inputs, evenings) = (folder.join("demo.db"), folder.join("inputs"), folder.join("evenings"));
    let written = std::fs::create_dir_all(&inputs)
        .and_then(|()| std::fs::create_dir_all(&evenings))
        .and_then(|()| INPUTS.iter().try_for_each(|(name, text)| std::fs::write(inputs.join(name), text)))
        .and_then(|()| PHOTOS.iter().try_for_each(|(name, bytes)| std::fs::write(inputs.join(name), bytes)));
    written.map_err(|error| unwritten(&inputs, &error))?;
    let bar = progress("Replaying ten site days");
    let progress = |done, all| {
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    };
    let job = build(&database, &inputs, &evenings, commands, progress);
    bar.finish_and_clear();
    let job = job?;
    let clocks = clocks()?;
    // Packed by the clock of the last site day: a demonstration is always a rehearsal.
    let last = clocks[clocks.len() - 1];
    let pack = folder.join("pack");
    commands(words_of(&database, &job, &["pack".as_ref(), pack.as_os_str()]), Clock::Set(last), out)?;
    if out.is_json() {
        return Ok(());
    }
    out.line("")?;
    out.line("Have a look at:")?;
    let pages: &[(&str, &str)] = if has_pdf() {
        &[("handover.pdf", "the pack, as the builder reads it"), ("handover.html", "the same for a phone")]
    } else {
        &[("handover.html", "the pack, as the builder reads it")]
    };
    let pages = pages.iter().map(|(page, what)| (pack.join(page), *what));
    for (file, what) in pages.chain([
        (pack.join("drawings"), "the walls and the seal plans"),
        (folder.join("pack.zip"), "all of it in one file, to send"),
        (evenings, "the report of each evening"),
    ]) {
        out.line(format!("  {} — {what}", file.display()))?;
    }
    out.line("The record itself:")?;
    out.line(format!("  cladlog --db {} log", database.display()))
}

/// The clocks that the site days set, in order; at least one.
fn clocks() -> Result<Vec<Moment>, Failure> {
    let lines = DAYS.lines().filter_map(|line| line.strip_prefix("@ "));
    let clocks: Result<Vec<Moment>, _> = lines.map(|time| Moment::parse_from_rfc3339(time.trim())).collect();
    let clocks = clocks.map_err(|error| Failure::input(format!("demo-db/days.txt: {error}")))?;
    if clocks.is_empty() { Err(Failure::input("demo-db/days.txt sets no clock")) } else { Ok(clocks) }
}

/// The key with which a person of the demonstration confirms: everybody has it, and a rehearsal is all that it signs in.
fn invented_key(person: &str) -> Signer {
    let seed = Sha256::digest(format!("demonstration key of {person}")).into();
    Signer::from_seed(&seed)
}

/// A command line on the demonstration's database.
fn words_of(database: &Path, job: &str, words: &[&OsStr]) -> Vec<OsString> {
    let start = ["cladlog".as_ref(), "--db".as_ref(), database.as_os_str(), "--job".as_ref(), job.as_ref()];
    start.iter().chain(words).map(OsString::from).collect()
}

/// Builds the demonstration's database; `inputs` is the folder of its readings. Each evening's report is written when its
/// day is done, so that it ends in the code of that evening. Gives the key of its job.
fn build(
    database: &Path,
    inputs: &Path,
    evenings: &Path,
    commands: Run,
    progress: impl FnMut(usize, usize),
) -> Result<String, Failure> {
    let (job, sequence, rates) = from_text(Path::new("demo-db/job.toml"), JOB)?;
    let (key, lead) = (job.key.clone(), job.people.first().map(|person| person.name.clone()).unwrap_or_default());
    // The job is set up by the clock of the first site day.
    let now = clocks()?[0].at_site(job.time_zone);
    let new = NewJob { set_up: set_up(job, &sequence)?, rates: &rates, device: DEVICE, rehearsal: true };
    Journal::set_up(Store::create(database)?, new, &lead, now, now)?;
    let evening = |last: Moment| {
        let day = evenings.join(last.date().to_string());
        let (html, pdf) = (day.with_extension("html"), day.with_extension("pdf"));
        let page: [&OsStr; 4] = ["day".as_ref(), "report".as_ref(), "--html".as_ref(), html.as_os_str()];
        let print: [&OsStr; 2] = ["--pdf".as_ref(), pdf.as_os_str()];
        let print = if has_pdf() { &print[..] } else { &[] };
        commands(words_of(database, &key, &[&page, print].concat()), Clock::Set(last), &mut Out::captured().0)
    };
    Replay { database, job: &key, inputs, by: &lead, run: commands, key: invented_key }
        .replay(DAYS, progress, evening)?;
    Ok(key)
}
