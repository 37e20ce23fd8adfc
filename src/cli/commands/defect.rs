//! `cladlog defect`: what is out of tolerance or out of order.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::filters::ListArgs;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{Defect, noted};
use crate::handover::{confirmations, grade_defects};
use crate::record::{CloseDefect, ConcedeDefect, OpenDefect};

/// List, open, close and concede defects
#[derive(Debug, Subcommand)]
pub enum DefectCommand {
    /// List every defect and its state
    List(ListArgs),
    /// Record a defect that somebody saw
    Open(OpenDefect),
    /// Record that a defect was fixed, and how
    Close(CloseDefect),
    /// Record a concession: the defect may stand
    Concede(ConcedeDefect),
}

pub fn run(command: &DefectCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        DefectCommand::List(args) => list(args, site, out),
        DefectCommand::Open(request) => site.record_and_print(request, out),
        DefectCommand::Close(request) => site.record_and_print(request, out),
        DefectCommand::Concede(request) => site.record_and_print(request, out),
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (book, state) = (&opened.book, &opened.book.state);
    let filter = args.filters.read(state)?;
    // Whoever opened it, wherever that is recorded, and whoever ended it.
    let by = |one: &Defect| {
        let entries = std::iter::once(one.opened_by()).chain(&one.ended_by).filter_map(|id| book.entry(id));
        filter.by(entries.map(|entry| entry.by.as_str()).chain(one.person.as_deref()))
    };
    let is_wanted = |one: &&Defect| {
        filter.on(state, &one.subject) && filter.at_any(std::iter::once(&one.opened_at).chain(&one.ended_at)) && by(one)
    };
    let mut defects: Vec<Defect> = state.defects.iter().filter(is_wanted).cloned().collect();
    grade_defects(&mut defects, &confirmations(book));
    if args.csv.list("defects", &defects, out)? {
        return Ok(());
    }
    if defects.is_empty() {
        return out.line("No defects.");
    }
    // What is open comes first: it is what somebody has to do something about.
    defects.sort_by_key(|defect| !defect.is_open());
    for defect in defects {
        out.line(format!("{}  {}  {}", defect.state.word(), defect.subject, defect.id))?;
        out.wrapped(&format!("    {}", defect.what), 6)?;
        if let (Some(how), Some(at)) = (&defect.how, defect.ended_at) {
            let who = defect.person.as_ref().map(|person| format!(", {person}")).unwrap_or_default();
            let noted = noted(defect.noted_by.as_deref(), defect.grade);
            out.wrapped(
                &format!("    {} {}{who}: {how}{noted}", defect.state.word(), at.format("%a %-d %b %H:%M")),
                6,
            )?;
        }
    }
    Ok(())
}
