//! `cladlog stoppage`: work that stood still, why, and who was told.

use clap::{Args, Subcommand};

use crate::accounts::{Stood, stood};
use crate::cli::filters::{CsvTo, Filters};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Request, Stoppage};
use crate::units::number::{crew_hours, show};

/// Note that work stopped and went on; list the stoppages
#[derive(Debug, Subcommand)]
pub enum StoppageCommand {
    /// Note that work stopped, why, and who was told
    Start(StartArgs),
    /// Note that work went on
    End(EndArgs),
    /// List every stoppage and the crew-hours lost to it
    List(ListArgs),
}

/// Arguments of `stoppage start`
#[derive(Debug, Args)]
pub struct StartArgs {
    /// What stopped it: rain, wind, no access, another trade, …
    #[arg(long, value_name = "TEXT")]
    cause: String,
    /// Where
    #[arg(long, value_name = "SUBJECT", default_value = "job")]
    on: String,
    /// Who was told, of the job or not
    #[arg(long, num_args = 1.., required = true, value_name = "NAME")]
    told: Vec<String>,
    /// How many of the crew stand idle [default: everybody on site]
    #[arg(long, value_name = "N")]
    people: Option<u32>,
}

/// Arguments of `stoppage end`
#[derive(Debug, Args)]
pub struct EndArgs {
    /// Id of the entry that started it [default: the only open one]
    id: Option<String>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
}

/// Arguments of `stoppage list`
#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    csv: CsvTo,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &StoppageCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let request = match command {
        StoppageCommand::List(args) => return list(args, site, out),
        StoppageCommand::Start(args) => Request::StartStoppage {
            on: args.on.clone(),
            cause: args.cause.clone(),
            told: args.told.clone(),
            people: args.people,
        },
        StoppageCommand::End(args) => Request::EndStoppage { stoppage: args.id.clone(), note: args.note.clone() },
    };
    site.record_and_tell(&request, out)
}

/// An open stoppage for other programs.
pub fn stopped(stoppage: &Stoppage) -> serde_json::Value {
    serde_json::json!({
        "id": stoppage.entry,
        "subject": stoppage.subject,
        "cause": stoppage.cause,
        "told": stoppage.told,
        "started_at": stoppage.started_at.to_string(),
    })
}

fn json_of(stoppage: &Stoppage, lost_h: f64) -> serde_json::Value {
    let mut value = serde_json::json!({
        "id": stoppage.entry,
        "subject": stoppage.subject,
        "state": if stoppage.ended_at.is_some() { "ended" } else { "open" },
        "cause": stoppage.cause,
        "told": stoppage.told,
        "by": stoppage.by,
        "started_at": stoppage.started_at.to_string(),
        "crew_hours_lost": lost_h,
    });
    let more = [
        ("ended_at", stoppage.ended_at.map(|at| at.to_string().into())),
        ("ended_by_entry", stoppage.ended_by.clone().map(Into::into)),
        ("people", stoppage.people.map(Into::into)),
        ("note", stoppage.note.clone().map(Into::into)),
    ];
    for (key, field) in more {
        if let Some(field) = field {
            value[key] = field;
        }
    }
    value
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (state, now) = (&opened.book.state, opened.now);
    let wanted = args.filters.read(state)?;
    let is_wanted = |one: &Stoppage| {
        let days = std::iter::once(&one.started_at).chain(&one.ended_at);
        let people = std::iter::once(&one.by).chain(&one.told).map(String::as_str);
        wanted.on(state, &one.subject) && wanted.at_any(days) && wanted.by(people)
    };
    let sum = stood(state, is_wanted, now);
    if args.csv.write(&rows(&sum), out)? {
        return Ok(());
    }
    if out.is_json() {
        let each: Vec<_> = sum.each.iter().map(|(one, lost)| json_of(one, *lost)).collect();
        return out.json(&serde_json::json!({ "stoppages": each, "crew_hours_lost": sum.total_h }));
    }
    if sum.each.is_empty() {
        return out.line("No stoppages.");
    }
    for (one, lost) in &sum.each {
        let today = one.started_at.date();
        let until = one.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(today)));
        out.wrapped(&format!("{}  {}  {}", one.started_at.format("%a %-d %b %H:%M"), until, one.subject), 4)?;
        out.wrapped(&format!("    {}; told {}; {} lost", one.cause, one.told.join(", "), crew_hours(*lost)), 6)?;
        if let Some(note) = &one.note {
            out.wrapped(&format!("    {note}"), 6)?;
        }
        out.line(format!("    {}", one.entry))?;
    }
    let once = if sum.each.len() > 1 { ", time that two of them share counted once" } else { "" };
    out.wrapped(&format!("{} lost in all{once}.", crew_hours(sum.total_h)), 2)
}

fn rows(sum: &Stood<'_>) -> Vec<Vec<String>> {
    let heading = ["id", "subject", "started_at", "ended_at", "cause", "told", "people", "crew_hours_lost", "note"];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(sum.each.iter().map(|(one, lost)| {
        vec![
            one.entry.clone(),
            one.subject.clone(),
            one.started_at.to_string(),
            one.ended_at.map(|at| at.to_string()).unwrap_or_default(),
            one.cause.clone(),
            one.told.join("; "),
            one.people.map(|people| people.to_string()).unwrap_or_default(),
            show(*lost),
            one.note.clone().unwrap_or_default(),
        ]
    }));
    rows
}
