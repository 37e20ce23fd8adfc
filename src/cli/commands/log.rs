//! `cladlog log`: the record, readable.

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::filters::{CsvTo, Filters};
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::record::{Entry, LogRow, Store};

/// Show the record, oldest first
#[derive(Debug, Args)]
pub struct LogArgs {
    #[command(flatten)]
    filters: Filters,
    /// Only the newest entries
    #[arg(long, value_name = "N")]
    limit: Option<u32>,
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &LogArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let rows = rows(args, site)?;
    if args.csv.list("entries", &rows, out)? {
        return Ok(());
    }
    if rows.is_empty() {
        return out.line("Nothing is recorded there.");
    }
    let mut day = None;
    for LogRow { entry, struck_by } in &rows {
        let date = entry.happened_at.date();
        if day != Some(date) {
            out.line(format!("{}{}", if day.is_some() { "\n" } else { "" }, date.format("%A %-d %B %Y")))?;
            day = Some(date);
        }
        let late = if entry.is_late() {
            format!(" (late: recorded {})", entry.recorded_at.format("%-d %b %H:%M"))
        } else {
            String::new()
        };
        let struck = struck_by.as_ref().map(|by| format!(" (STRUCK by {by})")).unwrap_or_default();
        out.wrapped(&format!("{} {} {}{late}{struck}", entry.happened_at.format("%H:%M"), entry.id(), entry.by), 6)?;
        out.wrapped(&format!("      {}", entry.body.in_words()), 8)?;
    }
    Ok(())
}

fn rows(args: &LogArgs, site: &Site<'_>) -> Result<Vec<LogRow>, Failure> {
    // Without a filter the file itself counts off the newest: the log of a long job opens at once.
    if !args.filters.any() && site.global.at.is_none() {
        let store = Store::read(&site.database()?)?;
        let stored = site.pick(store.jobs()?)?;
        return Ok(store.log(&stored.key, args.limit)?);
    }
    let opened = site.open()?;
    let (book, at) = (&opened.book, site.at(&opened.book, opened.now)?);
    let filter = args.filters.read(&book.state)?;
    let wanted = book.entries.iter().filter(|entry| entry.happened_at <= at && filter.entry(book, entry));
    let struck_by = |entry: &Entry| book.state.struck.get(&entry.id()).cloned();
    let mut rows: Vec<LogRow> =
        wanted.map(|entry| LogRow { struck_by: struck_by(entry), entry: entry.clone() }).collect();
    if let Some(limit) = args.limit {
        let surplus = rows.len().saturating_sub(limit as usize);
        rows.drain(..surplus);
    }
    Ok(rows)
}
