//! `cladlog demo`: the invented job, replayed from its inputs.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, Parser};

use crate::accounts::claim::rates_that_do_not_fit;
use crate::building::{read_job, read_rates};
use crate::cli::commands::job::set_up_in;
use crate::cli::commands::pack::{self, PackArgs};
use crate::cli::job_files::{find_sequence, mistakes_in};
use crate::cli::site::Site;
use crate::cli::{Cli, Clock, Failure, Global, Out, files, prompts, script};
use crate::day::set_up;
use crate::handover::{Evening, has_pdf};
use crate::moment::Moment;
use crate::record::Store;

/// The inputs of the demonstration, as they lie in demo-db/.
pub const JOB: &str = include_str!("../../../demo-db/job.toml");
/// Its site days.
pub const DAYS: &str = include_str!("../../../demo-db/days.txt");
/// The readings that its sums take.
pub const INPUTS: &[(&str, &str)] = &[
    ("starter.csv", include_str!("../../../demo-db/starter.csv")),
    ("north-frame.csv", include_str!("../../../demo-db/north-frame.csv")),
    ("dust.csv", include_str!("../../../demo-db/dust.csv")),
    ("forecast.csv", include_str!("../../../demo-db/forecast.csv")),
];
/// Its invented photos.
pub const PHOTOS: &[(&str, &[u8])] = &[
    ("north-packed.jpg", include_bytes!("../../../demo-db/photos/north-packed.jpg")),
    ("north-before-cover.jpg", include_bytes!("../../../demo-db/photos/north-before-cover.jpg")),
    ("east-before-cover.jpg", include_bytes!("../../../demo-db/photos/east-before-cover.jpg")),
    ("south-before-cover.jpg", include_bytes!("../../../demo-db/photos/south-before-cover.jpg")),
    ("west-before-cover.jpg", include_bytes!("../../../demo-db/photos/west-before-cover.jpg")),
    ("west-sill-lap.jpg", include_bytes!("../../../demo-db/photos/west-sill-lap.jpg")),
    ("north-finished.jpg", include_bytes!("../../../demo-db/photos/north-finished.jpg")),
    ("south-finished.png", include_bytes!("../../../demo-db/photos/south-finished.png")),
];
/// The book that the demonstration writes in: always the same, so that its entries are too.
const DEVICE: &str = "demo";

/// Replay an invented job to a finished pack
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Where to put it; a new folder
    #[arg(default_value = "cladlog-demo")]
    folder: PathBuf,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`]: the folder is there already, or can't be written.
pub fn run(args: &DemoArgs, out: &mut Out) -> Result<(), Failure> {
    let folder = &args.folder;
    if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(Failure::input_hint(
            format!("{}: is there already and is not empty", folder.display()),
            "give another folder, or take this one away first",
        ));
    }
    let (database, inputs) = (folder.join("demo.db"), folder.join("inputs"));
    let written = std::fs::create_dir_all(&inputs)
        .and_then(|()| INPUTS.iter().try_for_each(|(name, text)| std::fs::write(inputs.join(name), text)))
        .and_then(|()| PHOTOS.iter().try_for_each(|(name, bytes)| std::fs::write(inputs.join(name), bytes)));
    written.map_err(|error| Failure::machine(format!("{}: can't be written: {error}", inputs.display())))?;
    let bar = prompts::progress("Replaying three site days");
    build(&database, &inputs, |done, all| {
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    })?;
    bar.finish_and_clear();
    // Packed by the clock of the last site day: a demonstration is always a rehearsal.
    let last = clocks().last().ok_or_else(|| Failure::input("demo-db/days.txt sets no clock"))??;
    let global = global_for(&database, None)?;
    let site = Site { global: &global, clock: Clock::Set(last) };
    let pack = PackArgs {
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
    out.line("Open these:")?;
    let pages: &[(&str, &str)] = if has_pdf() {
        &[("handover.pdf", "the pack, as the builder reads it"), ("handover.html", "the same on a phone")]
    } else {
        &[("handover.html", "the pack, as the builder reads it, on a phone too")]
    };
    let pages = pages.iter().map(|(page, what)| (pack.folder.join(page), *what));
    for (file, what) in pages.chain([
        (pack.folder.join("drawings"), "the walls and the seal plans"),
        (folder.join("pack.zip"), "all of it, to send"),
        (evenings, "the report of each evening, a page each"),
    ]) {
        out.line(format!("  {} — {what}", file.display()))?;
    }
    out.line("And look at the record itself:")?;
    out.line(format!("  cladlog --db {} log", database.display()))
}

/// Writes the report of each site day.
fn write_evenings(folder: &Path, site: &Site<'_>) -> Result<(), Failure> {
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::machine(format!("{}: can't be made: {error}", folder.display())))?;
    let opened = site.open()?;
    let dates: BTreeSet<NaiveDate> = opened.book.state.days.iter().map(|day| day.date).collect();
    for date in dates {
        let report = Evening::of(&opened.book, date, opened.now)?;
        files::write_whole(&folder.join(format!("{date}.html")), report.html().as_bytes())?;
        #[cfg(feature = "pdf")]
        files::write_whole(&folder.join(format!("{date}.pdf")), &report.pdf().map_err(Failure::machine)?)?;
    }
    Ok(())
}

/// The clocks that the site days set, in order.
fn clocks() -> impl Iterator<Item = Result<Moment, Failure>> {
    DAYS.lines().filter_map(|line| line.strip_prefix("@ ")).map(|time| {
        Moment::parse_from_rfc3339(time.trim()).map_err(|error| Failure::input(format!("demo-db/days.txt: {error}")))
    })
}

/// The options of a command on this database, whatever the surroundings say.
fn global_for(database: &Path, by: Option<&str>) -> Result<Global, Failure> {
    let cli = Cli::try_parse_from(["cladlog", "rebuild"]).map_err(Failure::input)?;
    Ok(Global { by: by.map(str::to_owned), job: None, at: None, db: Some(database.to_owned()), ..cli.global })
}

/// Builds the demonstration's database; `inputs` is the folder of its readings.
///
/// # Errors
/// [`Failure`] when the inputs do not replay or the file can't be written.
pub fn build(database: &Path, inputs: &Path, progress: impl FnMut(usize, usize)) -> Result<(), Failure> {
    let job = read_job(JOB).map_err(|mistakes| mistakes_in("demo-db/job.toml", &mistakes))?;
    let rates = read_rates(JOB).map_err(|mistakes| mistakes_in("demo-db/job.toml", &mistakes))?;
    let sequence = find_sequence("panels-on-clips", Path::new(""))?;
    if let Some(error) = rates_that_do_not_fit(&sequence, &rates).first() {
        return Err(Failure::input(format!("demo-db/job.toml: {error}")));
    }
    let lead = job.people.first().map(|person| person.name.clone()).unwrap_or_default();
    // The job is set up by the clock of the first site day.
    let first = clocks().next().ok_or_else(|| Failure::input("demo-db/days.txt sets no clock"))??;
    let global = global_for(database, Some(&lead))?;
    let site = Site { global: &global, clock: Clock::Set(first) };
    let mut store = Store::create(database)?;
    set_up_in(&mut store, &site, set_up(job, &sequence)?, &rates, DEVICE)?;
    drop(store);
    script::replay(DAYS, database, inputs, &lead, progress)
}
