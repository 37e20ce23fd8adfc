//! `cladlog defect`: what is out of tolerance or out of order.

use clap::{Args, Subcommand};

use crate::cli::filters::{CsvTo, Filters};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Defect, Request};

/// List, open, close and concede defects
#[derive(Debug, Subcommand)]
pub enum DefectCommand {
    /// List every defect and where it stands
    List(ListArgs),
    /// Note a defect that somebody saw
    Open(OpenArgs),
    /// Note that a defect was put right
    Close(CloseArgs),
    /// Note a concession: the defect may stand
    Concede(ConcedeArgs),
}

/// Arguments of `defect list`
#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    csv: CsvTo,
}

/// Arguments of `defect open`
#[derive(Debug, Args)]
pub struct OpenArgs {
    /// Where
    #[arg(long, value_name = "SUBJECT")]
    on: String,
    /// What is wrong
    #[arg(long, value_name = "TEXT")]
    what: String,
}

/// Arguments of `defect close`
#[derive(Debug, Args)]
pub struct CloseArgs {
    /// Id of the defect
    id: String,
    /// Who says that it is put right
    #[arg(long, value_name = "NAME")]
    person: String,
    /// How it was put right
    #[arg(long, value_name = "TEXT")]
    how: String,
}

/// Arguments of `defect concede`
#[derive(Debug, Args)]
pub struct ConcedeArgs {
    /// Id of the defect
    id: String,
    /// Who gives the concession
    #[arg(long, value_name = "NAME")]
    person: String,
    /// Why it may stand
    #[arg(long, value_name = "TEXT")]
    why: String,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &DefectCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let request = match command {
        DefectCommand::List(args) => return list(args, site, out),
        DefectCommand::Open(args) => Request::OpenDefect { on: args.on.clone(), what: args.what.clone() },
        DefectCommand::Close(args) => {
            Request::CloseDefect { defect: args.id.clone(), person: args.person.clone(), how: args.how.clone() }
        }
        DefectCommand::Concede(args) => {
            Request::Concede { defect: args.id.clone(), person: args.person.clone(), why: args.why.clone() }
        }
    };
    site.record_and_tell(&request, out)
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (book, state) = (&opened.book, &opened.book.state);
    let wanted = args.filters.read(state)?;
    // Whoever opened it, wherever that is recorded, and whoever ended it.
    let people = |one: &Defect| {
        let entries = [Some(&one.opened_by), one.ended_by.as_ref()].into_iter().flatten();
        let mut names: Vec<String> = entries.filter_map(|id| book.entry(id)).map(|entry| entry.by.clone()).collect();
        names.extend(one.person.clone());
        names
    };
    let is_wanted = |one: &&Defect| {
        wanted.on(state, &one.subject)
            && wanted.at_any(std::iter::once(&one.opened_at).chain(&one.ended_at))
            && wanted.by(people(one).iter().map(String::as_str))
    };
    let defects: Vec<&Defect> = state.defects.iter().filter(is_wanted).collect();
    if args.csv.write(&csv(&defects), out)? {
        return Ok(());
    }
    if out.is_json() {
        let list: Vec<_> = defects
            .iter()
            .map(|defect| {
                serde_json::json!({
                    "id": defect.id,
                    "subject": defect.subject,
                    "state": defect.state.word(),
                    "what": defect.what,
                    "opened_by_entry": defect.opened_by,
                })
            })
            .collect();
        return out.json(&serde_json::json!({ "defects": list }));
    }
    if defects.is_empty() {
        return out.line("No defects.");
    }
    // What is open comes first: it is what somebody has to do something about.
    let mut defects = defects;
    defects.sort_by_key(|defect| defect.state != crate::day::DefectState::Open);
    for defect in defects {
        out.line(format!("{}  {}  {}", defect.state.word(), defect.subject, defect.id))?;
        out.wrapped(&format!("    {}", defect.what), 6)?;
        if let (Some(how), Some(at)) = (&defect.how, defect.ended_at) {
            let who = defect.person.as_ref().map(|person| format!(", {person}")).unwrap_or_default();
            out.wrapped(&format!("    {} {}{who}: {how}", defect.state.word(), at.format("%a %-d %b %H:%M")), 6)?;
        }
    }
    Ok(())
}

fn csv(defects: &[&Defect]) -> Vec<Vec<String>> {
    let heading = [
        "id",
        "subject",
        "state",
        "rule",
        "what",
        "opened_at",
        "opened_by_entry",
        "ended_at",
        "ended_by_entry",
        "person",
        "how",
    ];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(defects.iter().map(|defect| {
        vec![
            defect.id.clone(),
            defect.subject.clone(),
            defect.state.word().to_owned(),
            defect.rule.map(|rule| rule.to_string()).unwrap_or_default(),
            defect.what.clone(),
            defect.opened_at.to_string(),
            defect.opened_by.clone(),
            defect.ended_at.map(|at| at.to_string()).unwrap_or_default(),
            defect.ended_by.clone().unwrap_or_default(),
            defect.person.clone().unwrap_or_default(),
            defect.how.clone().unwrap_or_default(),
        ]
    }));
    rows
}
