//! `cladlog job show`: the job, for people and for programs.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use serde_json::{Map, Value, json};

use super::write_job;
use crate::building::{Corner, Figure, Job, Wall};
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::State;
use crate::sequence::{EditionChange, Sequence};
use crate::units::number::show;

#[derive(Debug, Args)]
pub struct ShowArgs {
    /// Also write the job as a job file, to be edited for job revise
    #[arg(long, value_name = "FILE")]
    file: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
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

pub fn run(args: &ShowArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
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
