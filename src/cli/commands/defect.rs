//! `cladlog defect`: what is out of tolerance or out of order.

use clap::{Args, Subcommand};

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Request;

/// List, open, close and concede defects
#[derive(Debug, Subcommand)]
pub enum DefectCommand {
    /// List every defect and where it stands
    List,
    /// Note a defect that somebody saw
    Open(OpenArgs),
    /// Note that a defect was put right
    Close(CloseArgs),
    /// Note a concession: the defect may stand
    Concede(ConcedeArgs),
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
        DefectCommand::List => return list(site, out),
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

fn list(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let defects = &opened.book.state.defects;
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
    let mut defects: Vec<_> = defects.iter().collect();
    defects.sort_by_key(|defect| defect.state != crate::day::DefectState::Open);
    for defect in defects {
        out.line(format!("{}  {}  {}", defect.state.word(), defect.subject, defect.id))?;
        out.line(format!("    {}", defect.what))?;
        if let (Some(how), Some(at)) = (&defect.how, defect.ended_at) {
            let who = defect.person.as_ref().map(|person| format!(", {person}")).unwrap_or_default();
            out.line(format!("    {} {}{who}: {how}", defect.state.word(), at.format("%a %-d %b %H:%M")))?;
        }
    }
    Ok(())
}
