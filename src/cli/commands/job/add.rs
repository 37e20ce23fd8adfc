//! `cladlog job add`: set a job up, from a file or by questions.

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;

use super::doubts;
use crate::building::{Job, job_outline};
use crate::cli::failure::Failure;
use crate::cli::job_files::from_file;
use crate::cli::out::Out;
use crate::cli::prompts;
use crate::cli::site::{Opened, Site};
use crate::day::{HEAT_LIMIT, LIFTING_LIMIT, check_time, set_up};
use crate::journal::{Journal, NewJob};
use crate::plain::count;
use crate::record::{Store, new_device};
use crate::sequence::Sequence;
use crate::units::number::shortened;

#[derive(Debug, Args)]
#[command(after_long_help = format!("What a job file may hold; lengths in mm:\n{}", job_outline()))]
pub struct AddArgs {
    /// The job file (TOML); without it you are asked
    pub file: Option<PathBuf>,
}

pub fn run(args: &AddArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
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
    let state = &journal.book().state;
    doubts(state, out);
    let job = &state.job;
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
