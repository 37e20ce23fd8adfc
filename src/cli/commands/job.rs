//! `cladlog job`: set a job up, list the jobs, show one.

use std::io::IsTerminal;
use std::path::PathBuf;

use chrono_tz::Tz;
use clap::{Args, Subcommand};
use serde::Serialize;

use crate::building::Rate;
use crate::cli::job_files::{from_file, rates_from_file};
use crate::cli::site::{Recorded, RecordedEntry, Site};
use crate::cli::{Failure, Out, prompts};
use crate::day::{Book, Effects, Request, not_to_come, set_up};
use crate::moment::Moment;
use crate::record::{Body, Draft, Store, StoredJob};

/// Set a job up, list the jobs, show one
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// Set a job up from a file, or by questions when no file is given
    Add(AddArgs),
    /// List the jobs of the database
    List,
    /// Show the job: walls, openings, corners, joints, people, sequence
    Show,
    /// Take the rates of the job file anew: they are kept beside the record, never in it
    Rates(RatesArgs),
    /// Put a person on the job
    Person(PersonArgs),
}

/// Arguments of `job add`
#[derive(Debug, Args)]
pub struct AddArgs {
    /// The job file (TOML)
    pub file: Option<PathBuf>,
}

/// Arguments of `job rates`
#[derive(Debug, Args)]
pub struct RatesArgs {
    /// The job file (TOML), for its rate tables; shows the rates when left out
    pub file: Option<PathBuf>,
}

/// Arguments of `job person`
#[derive(Debug, Args)]
pub struct PersonArgs {
    /// Full name
    pub name: String,
    /// A role, as the sequence names it
    #[arg(long = "role", required = true)]
    pub roles: Vec<String>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &JobCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        JobCommand::Add(args) => add(args, site, out),
        JobCommand::List => list(site, out),
        JobCommand::Show => show(site, out),
        JobCommand::Rates(args) => rates(args, site, out),
        JobCommand::Person(args) => {
            let request = Request::AddPerson { name: args.name.clone(), roles: args.roles.clone() };
            site.record_and_tell(&request, out)
        }
    }
}

fn add(args: &AddArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let (job, sequence) = match &args.file {
        Some(file) => from_file(file)?,
        None if std::io::stdin().is_terminal() => prompts::job::ask()?,
        None => {
            return Err(Failure::input_hint(
                "there is no terminal to ask the questions on",
                "give the job as a file: cladlog job add FILE.toml",
            ));
        }
    };
    let rates = args.file.as_ref().map(|file| rates_from_file(file, &sequence)).transpose()?.unwrap_or_default();
    // Before anything is made: what is refused leaves no file behind.
    if let Some(name) = site.global.by.as_ref().filter(|name| job.person(name).is_none()) {
        let names: Vec<&str> = job.people.iter().map(|person| person.name.as_str()).collect();
        let name = crate::units::number::shortened(name);
        return Err(Failure::input(format!("--by: {name} is not a person of job {}: {}", job.key, names.join(", "))));
    }
    times(site, job.time_zone)?;
    let body = set_up(job, &sequence)?;
    let path = site.database()?;
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && site.global.db.is_none()) {
        std::fs::create_dir_all(folder)
            .map_err(|error| Failure::machine(format!("{}: can't be made: {error}", folder.display())))?;
    }
    let mut store = Store::create(&path)?;
    let (recorded, book) = set_up_in(&mut store, site, body, &rates, &new_device()?)?;
    let job = &book.state.job;
    for warning in job.courses_that_do_not_fit() {
        out.say(format!("Mind: {warning}"));
    }
    if out.is_json() {
        return out.json(&recorded);
    }
    out.wrapped(&format!("Job {} ({}) is set up in {}.", job.key, job.name, path.display()), 2)?;
    let (walls, corners) = (job.walls.len(), job.corners.len());
    let text = format!("  {walls} walls, {corners} corners, sequence {} ({}).", sequence.key, sequence.title);
    out.wrapped(&text, 4)?;
    let missing: Vec<&str> = sequence
        .documents
        .iter()
        .filter(|document| job.papers.iter().all(|paper| paper.key != document.key))
        .map(|document| document.title.as_str())
        .collect();
    if !missing.is_empty() {
        out.wrapped(&format!("  Papers that the job must hold and does not list: {}.", missing.join("; ")), 4)?;
    }
    out.line("Next: cladlog day open, then cladlog walk.")
}

/// When the job is set up, which may not be in the future, and now.
fn times(site: &Site<'_>, zone: Tz) -> Result<(Moment, Moment), Failure> {
    let now = site.clock.now().at_site(zone);
    let at = site.at_in(zone, now)?;
    not_to_come(at, now)?;
    Ok((at, now))
}

/// Puts the job's first entry, a body of [`set_up`], into a file.
///
/// # Errors
/// [`Failure`]: the job is there already, or the file can't be written.
pub fn set_up_in(
    store: &mut Store,
    site: &Site<'_>,
    body: Body,
    rates: &[Rate],
    device: &str,
) -> Result<(Recorded, Book), Failure> {
    let Body::JobAdded { building: job, .. } = &body else {
        return Err(Failure::machine("a job begins with the entry that sets it up"));
    };
    let (key, name, zone) = (job.key.clone(), job.name.clone(), job.time_zone);
    let lead = ["lead".to_owned()];
    let lead = job.people.iter().find(|person| person.has_any(&lead)).map(|person| person.name.clone());
    let (at, now) = times(site, zone)?;
    let by = site.global.by.clone().or(lead).unwrap_or_default();
    store.write(|writing| {
        if writing.jobs()?.iter().any(|job| job.key == key) {
            return Err(Failure::input(format!("job {key} is in this database already: give the new one another key")));
        }
        let stored =
            StoredJob { key: key.clone(), name, device: device.to_owned(), rehearsal: site.clock.is_rehearsal() };
        writing.list_job(&stored)?;
        writing.set_rates(&stored.key, rates)?;
        let rehearsal = site.clock.is_rehearsal();
        let draft = Draft { job: key, happened_at: at, recorded_at: now, by, body, rehearsal };
        let entry = writing.append(draft, device)?;
        let told =
            Recorded { entries: vec![RecordedEntry::from(&entry)], effects: Effects::default(), warnings: Vec::new() };
        let book = Book::open(vec![entry])?;
        writing.replace_read_side(&stored.key, &book.state.read_side())?;
        Ok((told, book))
    })
}

/// Takes the rates anew, or shows them.
fn rates(args: &RatesArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let rates = match &args.file {
        None => opened.store.rates(&opened.stored.key)?,
        Some(file) => {
            let rates = rates_from_file(file, opened.book.state.sequence())?;
            let mut store = site.open_for_writing()?;
            store.write(|writing| writing.set_rates(&opened.stored.key, &rates).map_err(Failure::from))?;
            rates
        }
    };
    if out.is_json() {
        return out.json(&serde_json::json!({ "rates": rates }));
    }
    if rates.is_empty() {
        return out.line("No rates: a claim gives quantities only.");
    }
    let rows: Vec<Vec<String>> = rates
        .into_iter()
        .map(|rate| vec![rate.stage, rate.unit, crate::units::number::show(rate.price), rate.currency])
        .collect();
    out.table(&["Stage", "By", "Price", "Currency"], &rows)
}

/// A new id for this file's book of a job: short, and never met twice in practice.
///
/// # Errors
/// [`Failure::Machine`] when the system has no random numbers.
pub fn new_device() -> Result<String, Failure> {
    // No vowels, so that no words come out; no l, 1, 0, o to be misread.
    const LETTERS: &[u8; 27] = b"bcdfghjkmnpqrstvwxz23456789";
    let mut bytes = [0u8; 8];
    getrandom::fill(&mut bytes).map_err(|error| Failure::machine(format!("no random numbers: {error}")))?;
    let pick = |(place, byte): (usize, &u8)| {
        // The first is a letter, so that an id never reads as a number.
        let letters = if place == 0 { &LETTERS[..19] } else { &LETTERS[..] };
        char::from(letters[usize::from(*byte) % letters.len()])
    };
    Ok(bytes.iter().enumerate().map(pick).collect())
}

fn list(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let jobs = Store::read(&site.database()?)?.jobs()?;
    if out.is_json() {
        let jobs: Vec<_> = jobs.iter().map(|job| serde_json::json!({ "key": job.key, "name": job.name })).collect();
        return out.json(&serde_json::json!({ "jobs": jobs }));
    }
    let rows: Vec<Vec<String>> = jobs
        .into_iter()
        .map(|job| vec![job.key, job.name, if job.rehearsal { "rehearsal".into() } else { String::new() }])
        .collect();
    out.table(&["Job", "Name", ""], &rows)
}

#[derive(Serialize)]
struct Shown<'j> {
    key: &'j str,
    name: &'j str,
    walls: Vec<serde_json::Value>,
    openings: Vec<serde_json::Value>,
    corners: Vec<serde_json::Value>,
    joints: Vec<serde_json::Value>,
    people: &'j [crate::building::Person],
    sequence: serde_json::Value,
    rehearsal: bool,
}

fn show(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let state = &opened.book.state;
    let job = &state.job;
    let sequence = state.sequence();
    if out.is_json() {
        let mut shown = Shown {
            key: &job.key,
            name: &job.name,
            walls: Vec::new(),
            openings: Vec::new(),
            corners: job
                .corners
                .iter()
                .map(|c| serde_json::json!({ "id": c.key, "key": c.key, "kind": c.kind, "walls": c.walls }))
                .collect(),
            joints: Vec::new(),
            people: &job.people,
            sequence: serde_json::json!({ "key": sequence.key, "sha256": sequence.sha256 }),
            rehearsal: state.rehearsal,
        };
        for wall in &job.walls {
            let mut value = serde_json::to_value(wall).map_err(Failure::machine)?;
            if let Some(map) = value.as_object_mut() {
                map.remove("openings");
                map.remove("joints");
            }
            shown.walls.push(value);
            for opening in &wall.openings {
                let mut value = serde_json::to_value(opening).map_err(Failure::machine)?;
                if let Some(map) = value.as_object_mut() {
                    map.insert("id".into(), format!("{}/{}", wall.key, opening.key).into());
                    map.insert("wall".into(), wall.key.clone().into());
                }
                shown.openings.push(value);
            }
            for (place, joint) in wall.joints.iter().enumerate() {
                let mut value = serde_json::to_value(joint).map_err(Failure::machine)?;
                if let Some(map) = value.as_object_mut() {
                    map.insert("id".into(), format!("{}/J{}", wall.key, place + 1).into());
                    map.insert("wall".into(), wall.key.clone().into());
                }
                shown.joints.push(value);
            }
        }
        return out.json(&shown);
    }
    out.line(format!("{} — {}", job.key, job.name))?;
    if let Some(address) = &job.address {
        out.line(address)?;
    }
    if state.rehearsal {
        out.line("A rehearsal: recorded under a clock that was set.")?;
    }
    out.line(format!("Sequence {}, edition {} ({})", sequence.key, sequence.edition, &sequence.sha256[..12]))?;
    out.line("")?;
    let rows: Vec<Vec<String>> = job
        .walls
        .iter()
        .map(|wall| {
            let joints = if wall.joints.is_empty() { String::new() } else { format!("J1..{}", wall.joints.len()) };
            let openings: Vec<&str> = wall.openings.iter().map(|opening| opening.key.as_str()).collect();
            vec![wall.key.clone(), wall.name.clone(), wall.courses.to_string(), joints, openings.join(" ")]
        })
        .collect();
    out.table(&["Wall", "Name", "Courses", "Joints", "Openings"], &rows)?;
    out.line("")?;
    if !job.corners.is_empty() {
        let rows: Vec<Vec<String>> =
            job.corners.iter().map(|c| vec![c.key.clone(), c.kind.clone(), c.walls.join(" and ")]).collect();
        out.table(&["Corner", "Kind", "Between"], &rows)?;
        out.line("")?;
    }
    let rows: Vec<Vec<String>> = job.people.iter().map(|p| vec![p.name.clone(), p.roles.join(", ")]).collect();
    out.table(&["Person", "Roles"], &rows)
}
