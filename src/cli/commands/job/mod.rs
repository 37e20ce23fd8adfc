//! `cladlog job`: set a job up, change it, list the jobs, show one.

mod add;
mod show;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde_json::json;

use self::add::AddArgs;
use self::show::ShowArgs;
use crate::building::{Job, Rate, write_job_file};
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::job_files::{job_from_file, rates_from_file};
use crate::cli::out::{Out, wrapped};
use crate::cli::site::{self, Opened, Site};
use crate::day::State;
use crate::form::{check_key, looks_latin};
use crate::record::{AddPerson, Body, ReviseJob, Store, StoredJob};
use crate::sequence::shipped;
use crate::units::number::show as number;

/// Set up a job, list the jobs, show one, add people
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// Set up a job: from a file, or by questions
    Add(AddArgs),
    /// Change the running job: walls, openings, people, papers and the figures from them
    #[command(after_help = "\
Write the job as it is with cladlog job show --file FILE.toml, edit the file, and revise the job by it. What was \
recorded before keeps its meaning; a figure that is revised holds from then on. The log says what changed. The sequence is changed by cladlog sequence adopt, rates \
by cladlog job rates.

Example: cladlog job revise house.toml --why \"architect's change 2: window moved\"")]
    Revise(ReviseArgs),
    /// Start the next job from this one: writes its job file, to be edited and set up with job add
    #[command(after_help = "Example: cladlog job copy miller-rd hill-st")]
    Copy(CopyArgs),
    /// List the jobs in the database
    List,
    /// Show the job: walls, openings, corners, joints, people, sequence
    Show(ShowArgs),
    /// Show the rates, or re-read them from the job file; they are kept beside the record, never in it
    Rates(RatesArgs),
    /// Add a person to the job
    Person(AddPerson),
}

#[derive(Debug, Args)]
pub struct ReviseArgs {
    /// The job file (TOML) as the job is from now on
    file: PathBuf,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: String,
    /// Even if work is recorded on parts that go
    #[arg(long)]
    anyway: bool,
}

#[derive(Debug, Args)]
pub struct CopyArgs {
    /// Key of the job to start from
    key: String,
    /// Key of the new job; the file is NEW.toml
    new: String,
    #[command(flatten)]
    over: Overwrite,
}

#[derive(Debug, Args)]
pub struct RatesArgs {
    /// A job file (TOML), or a file of rates alone, whose rates to take; without it the rates are shown
    pub file: Option<PathBuf>,
}

pub fn run(command: &JobCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        JobCommand::Add(args) => add::run(args, site, out),
        JobCommand::Revise(args) => revise(args, site, out),
        JobCommand::Copy(args) => copy(args, site, out),
        JobCommand::List => list(site, out),
        JobCommand::Show(args) => show::run(args, site, out),
        JobCommand::Rates(args) => rates(args, site, out),
        JobCommand::Person(request) => {
            site.record_and_print(request, out)?;
            if looks_latin(&request.name).is_some() {
                out.say(format!(
                    "Note: every letter of '{}' is of another alphabet and looks like a Latin letter.",
                    request.name
                ));
            }
            Ok(())
        }
    }
}

fn revise(args: &ReviseArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let building = Box::new(job_from_file(&args.file)?);
    let request = ReviseJob { building, changes: Vec::new(), why: args.why.clone(), anyway: args.anyway };
    let (recorded, book) = site.record(&request)?;
    let state = &book.state;
    doubts(state, out);
    let plans = state.plans_of_the_building();
    if !plans.is_empty() {
        out.say(format!("Note: kept before this and perhaps out of date: {}.", plans.join(", ")));
    }
    site::print(&recorded, &book, out)?;
    let entry = recorded.entries.first().and_then(|entry| book.entry(&entry.id));
    if let Some(Body::JobRevised(revised)) = entry.map(|entry| &entry.body).filter(|_| !out.is_json()) {
        revised.changes.iter().try_for_each(|change| out.wrapped(&format!("  {change}"), 4))?;
    }
    Ok(())
}

/// Says what of the job file may not be meant.
fn doubts(state: &State, out: &mut Out) {
    for doubt in state.doubts_about_the_job() {
        out.say(wrapped(&format!("Note: {doubt}."), 2));
    }
}

/// The job as a file, with the sequence beside it where that is none of those shipped; gives the files written.
fn write_job(opened: &Opened, job: &Job, file: &Path, over: Overwrite) -> Result<Vec<PathBuf>, Failure> {
    let sequence = opened.book.state.sequence();
    let is_shipped = shipped(&sequence.key).is_some_and(|text| text == sequence.text);
    let own = format!("{}-sequence.toml", job.key);
    let named = if is_shipped { sequence.key.clone() } else { own.clone() };
    let mut files = vec![(file.to_owned(), write_job_file(job, &named, &opened.store.rates(&opened.stored.key)?))];
    if !is_shipped {
        files.push((file.with_file_name(own), sequence.text.clone()));
    }
    files.iter().try_for_each(|(path, _)| over.may_write(path))?;
    files.iter().try_for_each(|(path, text)| over.write(path, text.as_bytes()))?;
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

fn copy(args: &CopyArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    check_key(&args.new).map_err(|why| Failure::input(format!("the new key {why}")))?;
    let opened = site.open_job(&args.key)?;
    let job = Job { key: args.new.clone(), ..opened.book.state.job.clone() };
    let file = PathBuf::from(format!("{}.toml", job.key));
    let files = write_job(&opened, &job, &file, args.over)?;
    if out.is_json() {
        return out.json(&json!({ "files": files }));
    }
    let files: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
    out.wrapped(&format!("Written: {}. Nothing is set up yet.", files.join(", ")), 2)?;
    out.wrapped(&format!("Next: change name, address and walls in {}, then cladlog job add {0}.", file.display()), 2)
}

/// Re-reads the rates, or shows them.
fn rates(args: &RatesArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let rates = match &args.file {
        None => opened.store.rates(&opened.stored.key)?,
        Some(file) => {
            let rates = rates_from_file(file, opened.book.state.sequence())?;
            let mut store = Store::write_to(&site.database()?)?;
            store.write(|writing| writing.set_rates(&opened.stored.key, &rates).map_err(Failure::from))?;
            rates
        }
    };
    if out.is_json() {
        return out.json(&json!({ "rates": rates }));
    }
    if rates.is_empty() {
        return out.line("No rates: the claim gives quantities only.");
    }
    let row = |rate: Rate| [rate.stage, rate.unit.to_string(), number(rate.price), rate.currency];
    out.table(["Stage", "By", "Price", "Currency"], rates.into_iter().map(row))
}

fn list(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let jobs = Store::read(&site.database()?)?.jobs()?;
    if out.is_json() {
        let jobs: Vec<_> = jobs.iter().map(|job| json!({ "key": job.key, "name": job.name })).collect();
        return out.json(&json!({ "jobs": jobs }));
    }
    let rehearsal = |job: &StoredJob| if job.rehearsal { "rehearsal" } else { "" }.to_owned();
    out.table(["Job", "Name", ""], jobs.iter().map(|job| [job.key.clone(), job.name.clone(), rehearsal(job)]))
}
