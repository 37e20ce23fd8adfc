//! `cladlog log`: the record, readable.

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::filters::{CsvTo, Filters};
use crate::cli::out::Out;
use crate::cli::site::{Opened, Site};
use crate::record::{Body, Entry, Fork, LogRow, Store, forks};
use crate::sequence::EditionChange;
use crate::units::parse_count;

/// Show the record, oldest first
#[derive(Debug, Args)]
pub struct LogArgs {
    #[command(flatten)]
    filters: Filters,
    /// Only the newest entries
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = parse_count)]
    limit: Option<u32>,
    #[command(flatten)]
    csv: CsvTo,
}

/// What is listed: the rows, and what has to be said of the record whatever is left out of it.
struct Listed {
    rows: Vec<LogRow>,
    forks: Vec<Fork>,
    /// Where the record was replayed for it.
    opened: Option<Opened>,
}

pub fn run(args: &LogArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let Listed { mut rows, forks, opened } = listed(args, site)?;
    add_changes(&mut rows, opened, site)?;
    if args.csv.list("entries", &rows, out)? {
        return Ok(());
    }
    if rows.is_empty() {
        out.line("Nothing is recorded there.")?;
    }
    let mut day = None;
    for LogRow { entry, struck_by, changes } in &rows {
        let date = entry.happened_at.date();
        if day != Some(date) {
            out.line(format!("{}{}", if day.is_some() { "\n" } else { "" }, date.format("%A %-d %B %Y")))?;
            day = Some(date);
        }
        let late = if entry.is_late() {
            format!(" (late: recorded {})", entry.recorded_at.clock(date))
        } else {
            String::new()
        };
        let struck = struck_by.as_ref().map(|by| format!(" (STRUCK by {by})")).unwrap_or_default();
        out.wrapped(&format!("{} {} {}{late}{struck}", entry.happened_at.format("%H:%M"), entry.id(), entry.by), 6)?;
        out.wrapped(&format!("      {}", entry.body.in_words()), 8)?;
        for change in changes.iter().flatten() {
            out.wrapped(&format!("        {change}"), 10)?;
        }
    }
    forks.iter().try_for_each(|fork| out.wrapped(&format!("Note: {}.", fork.in_words()), 2))
}

/// Adds what each edition that was adopted changed. Only then is the record replayed.
fn add_changes(rows: &mut [LogRow], opened: Option<Opened>, site: &Site<'_>) -> Result<(), Failure> {
    let adopts = |row: &&mut LogRow| matches!(row.entry.body, Body::SequenceAdopted(_));
    let adopting: Vec<&mut LogRow> = rows.iter_mut().filter(adopts).collect();
    if adopting.is_empty() {
        return Ok(());
    }
    let state = opened.map_or_else(|| site.open(), Ok)?.book.state;
    for row in adopting {
        let id = row.entry.id();
        let adoption = state.adoptions.iter().find(|adoption| adoption.entry == id);
        row.changes = adoption.map(|it| it.changes.iter().map(EditionChange::in_words).collect());
    }
    Ok(())
}

fn listed(args: &LogArgs, site: &Site<'_>) -> Result<Listed, Failure> {
    // Without a filter the file itself counts off the newest: the log of a long job opens at once.
    if !args.filters.any() && site.global.at.is_none() {
        let store = Store::read(&site.database()?)?;
        let stored = site.pick(store.jobs()?)?;
        let (rows, forks) = store.log(&stored.key, args.limit)?;
        return Ok(Listed { rows, forks, opened: None });
    }
    let opened = site.open()?;
    let (book, at) = (&opened.book, site.at(&opened.book, opened.now)?);
    let filter = args.filters.read(&book.state)?;
    let wanted = book.entries.iter().filter(|entry| entry.happened_at <= at && filter.entry(book, entry));
    let struck_by = |entry: &Entry| book.state.struck.get(&entry.id()).cloned();
    let mut rows: Vec<LogRow> =
        wanted.map(|entry| LogRow { struck_by: struck_by(entry), entry: entry.clone(), changes: None }).collect();
    if let Some(limit) = args.limit {
        let surplus = rows.len().saturating_sub(limit as usize);
        rows.drain(..surplus);
    }
    let forks = forks(&book.entries);
    drop(filter);
    Ok(Listed { rows, forks, opened: Some(opened) })
}
