//! `cladlog stoppage`: work that stopped, why, and who was notified.

use clap::Subcommand;

use crate::accounts::{StoppageRow, stood};
use crate::cli::failure::Failure;
use crate::cli::filters::ListArgs;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::Stoppage;
use crate::plain::names;
use crate::record::{EndStoppage, StartStoppage};
use crate::table::Row;
use crate::units::number::crew_hours;

/// Record that work stopped and resumed; list the stoppages
#[derive(Debug, Subcommand)]
pub enum StoppageCommand {
    /// Record that work stopped, why, and who was notified
    Start(StartStoppage),
    /// Record that work resumed
    End(EndStoppage),
    /// List every stoppage and the crew-hours lost to it
    List(ListArgs),
}

pub fn run(command: &StoppageCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        StoppageCommand::List(args) => list(args, site, out),
        StoppageCommand::Start(request) => site.record_and_print(request, out),
        StoppageCommand::End(request) => site.record_and_print(request, out),
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (state, now) = (&opened.book.state, opened.now);
    let filter = args.filters.read(state)?;
    let is_wanted = |one: &Stoppage| {
        let days = std::iter::once(&one.started_at).chain(&one.ended_at);
        let people = std::iter::once(&one.by).chain(&one.notified).map(String::as_str);
        filter.on(state, &one.subject) && filter.at_any(days) && filter.by(people)
    };
    let sum = stood(state, is_wanted, now);
    if args.csv.rows(&sum.each, out)? {
        return Ok(());
    }
    if out.is_json() {
        let each: Vec<_> = sum.each.iter().map(Row::json).collect();
        return out.json(&serde_json::json!({ "stoppages": each, "crew_hours_lost": sum.total_h }));
    }
    if sum.each.is_empty() {
        return out.line("No stoppages.");
    }
    for StoppageRow { stoppage: one, lost_h } in &sum.each {
        let today = one.started_at.date();
        let until = one.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(today)));
        out.wrapped(&format!("{}  {}  {}", one.started_at.format("%a %-d %b %H:%M"), until, one.subject), 4)?;
        let notified = names(&one.notified);
        out.wrapped(&format!("    {}; notified {notified}; {} lost", one.cause, crew_hours(*lost_h)), 6)?;
        if let Some(note) = &one.note {
            out.wrapped(&format!("    {note}"), 6)?;
        }
        out.line(format!("    {}", one.entry))?;
    }
    let once = if sum.each.len() > 1 { ", time that two of them share counted once" } else { "" };
    out.wrapped(&format!("{} lost in all{once}.", crew_hours(sum.total_h)), 2)
}
