//! `cladlog job`: set a job up, list the jobs, show one.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::building::{Corner, Figure, Job, Rate, Wall, write_job_file};
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::job_files::{from_file, job_from_file, rates_from_file};
use crate::cli::out::Out;
use crate::cli::prompts;
use crate::cli::site::{self, Opened, Site};
use crate::day::{HEAT_LIMIT, LIFTING_LIMIT, State, check_time, set_up};
use crate::form::{check_key, looks_latin};
use crate::journal::{Journal, NewJob};
use crate::plain::count;
use crate::record::new_device;
use crate::record::{AddPerson, Body, ReviseJob, Store, StoredJob};
use crate::sequence::{EditionChange, Sequence, shipped};
use crate::units::number::{shortened, show};

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
pub struct AddArgs {
    /// The job file (TOML); without it you are asked
    pub file: Option<PathBuf>,
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
pub struct ShowArgs {
    /// Also write the job as a job file, to be edited for job revise
    #[arg(long, value_name = "FILE")]
    file: Option<PathBuf>,
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
        JobCommand::Add(args) => add(args, site, out),
        JobCommand::Revise(args) => revise(args, site, out),
        JobCommand::Copy(args) => copy(args, site, out),
        JobCommand::List => list(site, out),
        JobCommand::Show(args) => show_job(args, site, out),
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

fn add(args: &AddArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let (job, sequence, rates) = match &args.file {
        Some(file) => from_file(file)?,
        None if std::io::stdin().is_terminal() => {
            let before = last_job(site)?;
            let (job, sequence) = prompts::job::ask(before.as_ref().map(|before| &before.book.state.job))?;
            (job, sequence, Vec::new())
        }
        None => {
            return Err(Failure::input_hint(
                "there is no terminal to ask the questions on",
                "give the job as a file: cladlog job add FILE.toml",
            ));
        }
    };
    // Before anything is made: what is refused leaves no file behind.
    if let Some(name) = site.global.by.as_ref().filter(|name| job.person_meant(name).is_none()) {
        let names: Vec<&str> = job.people.iter().map(|person| person.name.as_str()).collect();
        let (name, names) = (shortened(name), names.join(", "));
        return Err(Failure::input(format!("--by: {name} is not on job {}; on it are {names}", job.key)));
    }
    let now = site.clock.now().at_site(job.time_zone);
    let at = site.at_in(job.time_zone, now)?;
    check_time(at, now)?;
    let lead = job.people.iter().find(|person| person.has_any(&["lead".to_owned()])).map(|person| person.name.clone());
    let by = site.global.by.as_ref().and_then(|name| job.person_meant(name)).map(|person| person.name.clone());
    let by = by.or(lead).unwrap_or_default();
    let (set_up, device) = (set_up(job, &sequence)?, new_device());
    let path = site.new_database()?;
    let new = NewJob { set_up, rates: &rates, device: &device, rehearsal: site.clock.is_rehearsal() };
    let (journal, recorded) = Journal::set_up(Store::create(&path)?, new, &by, at, now)?;
    let job = &journal.book().state.job;
    for warning in job.courses_that_do_not_fit() {
        out.say(format!("Note: {warning}"));
    }
    let jobs = Store::read(&path)?.jobs()?;
    if let Some(same) = jobs.iter().find(|other| other.name == job.name && other.key != job.key) {
        out.say(format!("Note: job {} has the same name, {}.", same.key, same.name));
    }
    if out.is_json() {
        return out.json(&recorded);
    }
    out.wrapped(&format!("Job {} ({}) is set up in {}.", job.key, job.name, path.display()), 2)?;
    for line in what_was_set_up(job, &sequence) {
        out.wrapped(&format!("  {line}"), 4)?;
    }
    out.line("Next: cladlog day open, then cladlog walk.")
}

/// The job of the database that was last recorded on, where there is one.
fn last_job(site: &Site<'_>) -> Result<Option<Opened>, Failure> {
    let database = site.database()?;
    let jobs = if database.exists() { Store::read(&database)?.jobs()? } else { Vec::new() };
    let jobs = jobs.iter().map(|job| site.open_job(&job.key)).collect::<Result<Vec<_>, _>>()?;
    Ok(jobs.into_iter().max_by_key(|job| job.book.state.last_recorded()))
}

/// What a job that was just set up holds, and what it lacks.
fn what_was_set_up(job: &Job, sequence: &Sequence) -> Vec<String> {
    let parts = [(job.walls.len(), "wall"), (job.corners.len(), "corner"), (job.people.len(), "person")];
    let parts: Vec<String> = parts.iter().map(|(number, one)| count(*number, one)).collect();
    let mut lines =
        vec![format!("It has {}; its sequence is {} ({}).", parts.join(", "), sequence.title, sequence.key)];
    let lacking: Vec<&str> = sequence.papers_lacking(job).collect();
    if !lacking.is_empty() {
        lines.push(format!("Papers still to be listed: {}.", lacking.join("; ")));
    }
    let asked = sequence.figure_keys();
    let sums = [HEAT_LIMIT, LIFTING_LIMIT];
    let idle =
        job.figures.iter().map(|figure| figure.key.as_str()).filter(|key| !asked.contains(key) && !sums.contains(key));
    let idle: Vec<&str> = idle.collect();
    if !idle.is_empty() {
        lines.push(format!("Figures that nothing asks for: {}.", idle.join(", ")));
    }
    lines
}

fn revise(args: &ReviseArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let building = Box::new(job_from_file(&args.file)?);
    let request = ReviseJob { building, changes: Vec::new(), why: args.why.clone(), anyway: args.anyway };
    let (recorded, book) = site.record(&request)?;
    let state = &book.state;
    for warning in state.job.courses_that_do_not_fit() {
        out.say(format!("Note: {warning}"));
    }
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
    let row = |rate: Rate| [rate.stage, rate.unit.to_string(), show(rate.price), rate.currency];
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

/// The job as other programs get it.
fn sequence_json(sequence: &Sequence) -> Value {
    let mut json = json!({ "key": sequence.key, "edition": sequence.edition, "sha256": sequence.sha256 });
    if let Some(edited) = sequence.edited() {
        json["edited"] = edited.iter().map(EditionChange::in_words).collect();
    }
    json
}

fn job_json(job: &Job, sequence: &Sequence, rehearsal: bool) -> Result<Value, Failure> {
    let (mut walls, mut openings, mut joints) = (Vec::new(), Vec::new(), Vec::new());
    for wall in &job.walls {
        let mut fields = fields_of(wall)?;
        fields.retain(|key, _| key != "openings" && key != "joints");
        walls.push(fields);
        let part = |key: &str, mut fields: Map<String, Value>| {
            fields.insert("id".into(), format!("{}/{key}", wall.key).into());
            fields.insert("wall".into(), wall.key.clone().into());
            fields
        };
        for opening in &wall.openings {
            openings.push(part(&opening.key, fields_of(opening)?));
        }
        for (place, joint) in wall.joints.iter().enumerate() {
            joints.push(part(&format!("J{}", place + 1), fields_of(joint)?));
        }
    }
    let corner = |c: &Corner| json!({ "id": c.key, "key": c.key, "kind": c.kind, "walls": c.walls });
    Ok(json!({
        "key": job.key,
        "name": job.name,
        "walls": walls,
        "openings": openings,
        "corners": job.corners.iter().map(corner).collect::<Vec<_>>(),
        "joints": joints,
        "people": job.people,
        "figures": job.figures,
        "sequence": sequence_json(sequence),
        "rehearsal": rehearsal,
    }))
}

fn fields_of(part: &impl Serialize) -> Result<Map<String, Value>, Failure> {
    match serde_json::to_value(part).map_err(Failure::machine)? {
        Value::Object(fields) => Ok(fields),
        _ => Ok(Map::new()),
    }
}

fn show_job(args: &ShowArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    if let Some(file) = &args.file {
        for file in write_job(&opened, &opened.book.state.job, file, args.over)? {
            out.say(format!("Written: {}.", file.display()));
        }
    }
    let state = &opened.book.state;
    let (job, sequence) = (&state.job, state.sequence());
    if out.is_json() {
        return out.json(&job_json(job, sequence, state.rehearsal)?);
    }
    out.line(format!("{} — {}", job.key, job.name))?;
    if let Some(address) = &job.address {
        out.line(address)?;
    }
    if state.rehearsal {
        out.line("A rehearsal: it was recorded with CLADLOG_CLOCK set.")?;
    }
    out.line(format!("Sequence {}, edition {} ({})", sequence.key, sequence.edition, &sequence.sha256[..12]))?;
    sequence.edited_in_words().map_or(Ok(()), |edited| out.wrapped(&format!("  Note: {edited}."), 4))?;
    let length = |mm: Option<f64>| mm.map(show).unwrap_or_default();
    let row = |wall: &Wall| {
        let joints = match wall.joints.len() {
            0 => String::new(),
            1 => "J1".to_owned(),
            last => format!("J1..{last}"),
        };
        let openings: Vec<&str> = wall.openings.iter().map(|opening| opening.key.as_str()).collect();
        let (key, name, courses) = (wall.key.clone(), wall.name.clone(), wall.courses.to_string());
        [key, name, length(wall.length_mm), length(wall.height_mm), courses, joints, openings.join(" ")]
    };
    out.line("")?;
    let heading = ["Wall", "Name", "Length mm", "Height mm", "Courses", "Joints", "Openings"];
    out.table(heading, job.walls.iter().map(row))?;
    if !job.corners.is_empty() {
        let row = |c: &Corner| [c.key.clone(), c.kind.to_string(), c.walls.join(" and ")];
        out.line("")?;
        out.table(["Corner", "Kind", "Between"], job.corners.iter().map(row))?;
    }
    out.line("")?;
    out.table(["Person", "Roles"], job.people.iter().map(|p| [p.name.clone(), p.roles.join(", ")]))?;
    show_figures(state, out)
}

/// Whose figures hold: the job's own with where they are from, and those for which the sequence's stand in.
fn show_figures(state: &State, out: &mut Out) -> Result<(), Failure> {
    let (job, sequence) = (&state.job, state.sequence());
    let row = |figure: &Figure| [figure.key.clone(), show(figure.value), state.figures().source_of(figure)];
    if !job.figures.is_empty() {
        out.line("")?;
        out.table(["Figure", "Value", "From"], job.figures.iter().map(row))?;
    }
    let missing: Vec<&str> = sequence.figure_keys().into_iter().filter(|key| job.figure(key).is_none()).collect();
    if missing.is_empty() {
        return Ok(());
    }
    out.line("")?;
    out.wrapped(&format!("The sequence's own numbers stand in for: {}.", missing.join(", ")), 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::job_files::find_sequence;

    #[test]
    fn what_was_set_up_is_said_of_none_one_and_two() {
        let sequence = find_sequence("panels-on-clips", std::path::Path::new("")).unwrap();
        let (wall, corner) = (
            "[[wall]]\nkey = \"W#\"\ncourses = 2\n",
            "[[corner]]\nkey = \"X#\"\nkind = \"metal\"\nwalls = [\"W1\", \"W2\"]\n",
        );
        for (walls, corners, says) in [
            (1, 0, "It has 1 wall, 0 corners, 1 person;"),
            (2, 1, "It has 2 walls, 1 corner, 1 person;"),
            (2, 2, "It has 2 walls, 2 corners, 1 person;"),
        ] {
            let mut text = "key = \"j\"\nname = \"J\"\ntime_zone = \"UTC\"\nsequence = \"panels-on-clips\"\nperson = [{ name = \"Ana\", roles = [\"lead\"] }]\n".to_owned();
            (1..=walls).for_each(|number| text.push_str(&wall.replace('#', &number.to_string())));
            (1..=corners).for_each(|number| text.push_str(&corner.replace('#', &number.to_string())));
            let job = crate::building::read_job(&text).unwrap();
            let lines = what_was_set_up(&job, &sequence);
            assert!(lines[0].starts_with(says), "{lines:?}");
        }
    }
}
