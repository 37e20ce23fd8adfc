//! `cladlog demo`: the invented job, replayed from its inputs.

use std::path::{Path, PathBuf};

use clap::{Args, Parser};

use crate::building::read_job;
use crate::cli::commands::job::{find_sequence, mistakes_in, set_up_in};
use crate::cli::site::Site;
use crate::cli::{Cli, Clock, Failure, Global, Out, prompts, script};
use crate::day::set_up;
use crate::record::Store;

/// The inputs of the demonstration, as they lie in demo-db/.
pub const JOB: &str = include_str!("../../../demo-db/job.toml");
/// Its site days.
pub const DAYS: &str = include_str!("../../../demo-db/days.txt");
/// The readings that its sums take.
pub const INPUTS: &[(&str, &str)] = &[
    ("starter.csv", include_str!("../../../demo-db/starter.csv")),
    ("north-frame.csv", include_str!("../../../demo-db/north-frame.csv")),
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
        return Err(Failure::input_mend(
            format!("{}: is there already and is not empty", folder.display()),
            "give another folder, or take this one away first",
        ));
    }
    let (database, inputs) = (folder.join("demo.db"), folder.join("inputs"));
    let written = std::fs::create_dir_all(&inputs)
        .and_then(|()| INPUTS.iter().try_for_each(|(name, text)| std::fs::write(inputs.join(name), text)));
    written.map_err(|error| Failure::machine(format!("{}: can't be written: {error}", inputs.display())))?;
    let bar = prompts::progress("Replaying three site days");
    build(&database, &inputs, |done, all| {
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    })?;
    bar.finish_and_clear();
    out.line(format!("{}", database.display()))
}

/// Builds the demonstration's database; `inputs` is the folder of its readings.
///
/// # Errors
/// [`Failure`] when the inputs do not replay or the file can't be written.
pub fn build(database: &Path, inputs: &Path, progress: impl FnMut(usize, usize)) -> Result<(), Failure> {
    let job = read_job(JOB).map_err(|mistakes| mistakes_in("demo-db/job.toml", &mistakes))?;
    let sequence = find_sequence("panels-on-clips", Path::new(""))?;
    let lead = job.people.first().map(|person| person.name.clone()).unwrap_or_default();
    // The job is set up by the clock of the first site day.
    let first = DAYS.lines().find_map(|line| line.strip_prefix("@ ")).unwrap_or_default();
    let clock = chrono::DateTime::parse_from_rfc3339(first.trim())
        .map_err(|error| Failure::input(format!("demo-db/days.txt: the first clock: {error}")))?;
    let cli = Cli::try_parse_from(["cladlog", "rebuild"]).map_err(Failure::input)?;
    let global = Global { by: Some(lead.clone()), job: None, at: None, db: Some(database.to_owned()), ..cli.global };
    let site = Site { global: &global, clock: Clock::Set(clock) };
    let mut store = Store::create(database)?;
    set_up_in(&mut store, &site, set_up(job, &sequence)?, DEVICE)?;
    drop(store);
    script::replay(DAYS, database, inputs, &lead, progress)
}
