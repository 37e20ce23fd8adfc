//! `cladlog stoppage`: work that stopped, why, and who was notified.

use clap::{Args, Subcommand};

use crate::accounts::stood;
use crate::cli::failure::Failure;
use crate::cli::filters::{CsvTo, Filters};
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::Stoppage;
use crate::record::{EndStoppage, EntryId, StartStoppage};
use crate::table::{Cell, Column, Row};
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

#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    csv: CsvTo,
}

/// A stoppage, and what it cost.
struct Listed {
    stoppage: Stoppage,
    lost_h: f64,
}

impl Row for Listed {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "id", title: "Entry", cell: |it| Cell::text(it.stoppage.entry.to_string()) },
        Column { key: "subject", title: "On", cell: |it| (&it.stoppage.subject).into() },
        Column { key: "started_at", title: "Stopped", cell: |it| it.stoppage.started_at.into() },
        Column { key: "ended_at", title: "Resumed", cell: |it| it.stoppage.ended_at.into() },
        Column { key: "cause", title: "Cause", cell: |it| (&it.stoppage.cause).into() },
        Column { key: "told", title: "Notified", cell: |it| it.stoppage.notified.clone().into() },
        Column { key: "people", title: "Idle", cell: |it| it.stoppage.people.into() },
        Column { key: "crew_hours_lost", title: "Crew-hours lost", cell: |it| it.lost_h.into() },
        Column { key: "note", title: "Note", cell: |it| it.stoppage.note.as_ref().into() },
        Column {
            key: "state",
            title: "State",
            cell: |it| if it.stoppage.ended_at.is_some() { "ended" } else { "open" }.into(),
        },
        Column { key: "by", title: "Recorded by", cell: |it| (&it.stoppage.by).into() },
        Column {
            key: "ended_by_entry",
            title: "Ended by entry",
            cell: |it| it.stoppage.ended_by.as_ref().map(EntryId::to_string).into(),
        },
    ];
}

pub fn run(command: &StoppageCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        StoppageCommand::List(args) => list(args, site, out),
        StoppageCommand::Start(request) => site.record_and_print(request, out),
        StoppageCommand::End(request) => site.record_and_print(request, out),
    }
}

/// An open stoppage for other programs.
pub fn stopped(stoppage: &Stoppage) -> serde_json::Value {
    serde_json::json!({
        "id": stoppage.entry,
        "subject": stoppage.subject,
        "cause": stoppage.cause,
        "told": stoppage.notified,
        "started_at": stoppage.started_at.to_string(),
    })
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
    let listed = |(one, lost): &(&Stoppage, f64)| Listed { stoppage: Stoppage::clone(one), lost_h: *lost };
    let rows: Vec<Listed> = sum.each.iter().map(listed).collect();
    if args.csv.rows(&rows, out)? {
        return Ok(());
    }
    if out.is_json() {
        let each: Vec<_> = rows.iter().map(Row::json).collect();
        return out.json(&serde_json::json!({ "stoppages": each, "crew_hours_lost": sum.total_h }));
    }
    if rows.is_empty() {
        return out.line("No stoppages.");
    }
    for Listed { stoppage: one, lost_h } in &rows {
        let today = one.started_at.date();
        let until = one.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(today)));
        out.wrapped(&format!("{}  {}  {}", one.started_at.format("%a %-d %b %H:%M"), until, one.subject), 4)?;
        let notified = one.notified.join(", ");
        out.wrapped(&format!("    {}; notified {notified}; {} lost", one.cause, crew_hours(*lost_h)), 6)?;
        if let Some(note) = &one.note {
            out.wrapped(&format!("    {note}"), 6)?;
        }
        out.line(format!("    {}", one.entry))?;
    }
    let once = if rows.len() > 1 { ", time that two of them share counted once" } else { "" };
    out.wrapped(&format!("{} lost in all{once}.", crew_hours(sum.total_h)), 2)
}
