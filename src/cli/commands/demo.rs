//! `cladlog demo`: the invented job, replayed from its inputs.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::Args;

use super::pack::{self, PackArgs};
use crate::accounts::claim::rates_that_do_not_fit;
use crate::building::{JobFile, read_job_file};
use crate::cli::clock::Clock;
use crate::cli::failure::Failure;
use crate::cli::files::{unwritten, write_whole};
use crate::cli::input::mistakes_in;
use crate::cli::job_files::find_sequence;
use crate::cli::options::{Colour, Global};
use crate::cli::out::Out;
use crate::cli::prompts::screen::progress;
use crate::cli::script::{Replay, Run};
use crate::cli::site::Site;
use crate::day::set_up;
use crate::handover::{Evening, has_pdf};
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
    ("forecast.csv", include_str!("../../../demo-db/forecast.csv")),
];
/// Its invented photos.
const PHOTOS: &[(&str, &[u8])] = &[
    ("north-packed.jpg", include_bytes!("../../../demo-db/photos/north-packed.jpg")),
    ("north-before-cover.jpg", include_bytes!("../../../demo-db/photos/north-before-cover.jpg")),
    ("east-before-cover.jpg", include_bytes!("../../../demo-db/photos/east-before-cover.jpg")),
    ("south-before-cover.jpg", include_bytes!("../../../demo-db/photos/south-before-cover.jpg")),
    ("west-before-cover.jpg", include_bytes!("../../../demo-db/photos/west-before-cover.jpg")),
    ("west-sill-lap.jpg", include_bytes!("../../../demo-db/photos/west-sill-lap.jpg")),
    ("north-finished.jpg", include_bytes!("../../../demo-db/photos/north-finished.jpg")),
    ("south-finished.png", include_bytes!("../../../demo-db/photos/south-finished.png")),
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

pub fn run(args: &DemoArgs, run: Run, out: &mut Out) -> Result<(), Failure> {
    let folder = &args.folder;
    if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(Failure::input_hint(
            format!("{}: already exists and is not empty", folder.display()),
            "give another folder, or remove this one first",
        ));
    }
    let (database, inputs) = (folder.join("demo.db"), folder.join("inputs"));
    let written = std::fs::create_dir_all(&inputs)
        .and_then(|()| INPUTS.iter().try_for_each(|(name, text)| std::fs::write(inputs.join(name), text)))
        .and_then(|()| PHOTOS.iter().try_for_each(|(name, bytes)| std::fs::write(inputs.join(name), bytes)));
    written.map_err(|error| unwritten(&inputs, &error))?;
    let bar = progress("Replaying three site days");
    build(&database, &inputs, run, |done, all| {
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    })?;
    bar.finish_and_clear();
    // Packed by the clock of the last site day: a demonstration is always a rehearsal.
    let last = clocks().last().ok_or_else(|| Failure::input("demo-db/days.txt sets no clock"))??;
    let global = global_for(&database);
    let site = Site { global: &global, clock: Clock::Set(last) };
    let pack = PackArgs {
        readable: false,
        folder: folder.join("pack"),
        interim: false,
        replace: false,
        withhold: Vec::new(),
        without_people: false,
        no_places: false,
        key: None,
        pdf_a1b: None,
    };
    pack::run(&pack, &site, out)?;
    let evenings = folder.join("evenings");
    write_evenings(&evenings, &site)?;
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
    let pages = pages.iter().map(|(page, what)| (pack.folder.join(page), *what));
    for (file, what) in pages.chain([
        (pack.folder.join("drawings"), "the walls and the seal plans"),
        (folder.join("pack.zip"), "all of it in one file, to send"),
        (evenings, "the report of each evening"),
    ]) {
        out.line(format!("  {} — {what}", file.display()))?;
    }
    out.line("The record itself:")?;
    out.line(format!("  cladlog --db {} log", database.display()))
}

/// Writes the report of each site day.
fn write_evenings(folder: &Path, site: &Site<'_>) -> Result<(), Failure> {
    std::fs::create_dir_all(folder).map_err(|error| unwritten(folder, &error))?;
    let opened = site.open()?;
    let dates: BTreeSet<NaiveDate> = opened.book.state.days.iter().map(|day| day.date).collect();
    for date in dates {
        let report = Evening::of(&opened.book, date, opened.now)?;
        write_whole(&folder.join(format!("{date}.html")), report.html().as_bytes())?;
        #[cfg(feature = "pdf")]
        write_whole(&folder.join(format!("{date}.pdf")), &report.pdf().map_err(Failure::machine)?)?;
    }
    Ok(())
}

/// The clocks that the site days set, in order.
fn clocks() -> impl Iterator<Item = Result<Moment, Failure>> {
    DAYS.lines().filter_map(|line| line.strip_prefix("@ ")).map(|time| {
        Moment::parse_from_rfc3339(time.trim()).map_err(|error| Failure::input(format!("demo-db/days.txt: {error}")))
    })
}

/// The options of a command on this database, whatever the environment says.
fn global_for(database: &Path) -> Global {
    Global {
        db: Some(database.to_owned()),
        by: None,
        job: None,
        at: None,
        clock_is_right: false,
        json: false,
        color: Colour::Auto,
    }
}

/// Builds the demonstration's database; `inputs` is the folder of its readings.
fn build(database: &Path, inputs: &Path, run: Run, progress: impl FnMut(usize, usize)) -> Result<(), Failure> {
    let file = read_job_file(JOB).map_err(|mistakes| mistakes_in(Path::new("demo-db/job.toml"), &mistakes))?;
    let JobFile { job, rates, .. } = file;
    let sequence = find_sequence("panels-on-clips", Path::new(""))?;
    if let Some(error) = rates_that_do_not_fit(&sequence, &rates).first() {
        return Err(Failure::input(format!("demo-db/job.toml: {error}")));
    }
    let lead = job.people.first().map(|person| person.name.clone()).unwrap_or_default();
    // The job is set up by the clock of the first site day.
    let first = clocks().next().ok_or_else(|| Failure::input("demo-db/days.txt sets no clock"))??;
    let now = first.at_site(job.time_zone);
    let new = NewJob { set_up: set_up(job, &sequence)?, rates: &rates, device: DEVICE, rehearsal: true };
    Journal::set_up(Store::create(database)?, new, &lead, now, now)?;
    Replay { database, inputs, by: &lead, run }.replay(DAYS, progress)
}
