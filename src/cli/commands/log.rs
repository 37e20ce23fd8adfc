//! `cladlog log`: the record, readable.

use clap::Args;
use serde::Serialize;

use crate::cli::filters::{CsvTo, Filters};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::moment::Moment;
use crate::record::LogRow;

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

#[derive(Serialize)]
struct Listed<'r> {
    id: String,
    hash: &'r str,
    device: &'r str,
    seq: u64,
    happened_at: Moment,
    recorded_at: Moment,
    by: &'r str,
    kind: &'r str,
    subject: &'r str,
    late: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    struck_by: Option<&'r str>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &LogArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let rows = rows(args, site)?;
    if args.csv.write(&csv(&rows), out)? {
        return Ok(());
    }
    if out.is_json() {
        let list: Vec<Listed<'_>> = rows
            .iter()
            .map(|LogRow { entry, struck_by }| Listed {
                id: entry.id(),
                hash: &entry.hash,
                device: &entry.device,
                seq: entry.seq,
                happened_at: entry.happened_at,
                recorded_at: entry.recorded_at,
                by: &entry.by,
                kind: entry.body.kind(),
                subject: entry.body.subject(),
                late: entry.is_late(),
                struck_by: struck_by.as_deref(),
            })
            .collect();
        return out.json(&serde_json::json!({ "entries": list }));
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
    let store = crate::record::Store::read(&site.database()?)?;
    let stored = site.pick(store.jobs()?)?;
    // Without a filter the file itself counts off the newest: the log of a long job opens at once.
    let filtered = args.filters.any() || site.global.at.is_some();
    let mut rows = store.log(&stored.key, args.limit.filter(|_| !filtered))?;
    if filtered {
        let opened = site.open()?;
        let at = site.at(&opened.book, opened.now)?;
        rows.retain(|row| row.entry.happened_at <= at);
        let wanted = args.filters.read(&opened.book.state)?;
        rows.retain(|row| wanted.entry(&opened.book, &row.entry));
    }
    if let Some(limit) = args.limit {
        let surplus = rows.len().saturating_sub(limit as usize);
        rows.drain(..surplus);
    }
    Ok(rows)
}

fn csv(rows: &[LogRow]) -> Vec<Vec<String>> {
    let heading = ["id", "happened_at", "recorded_at", "by", "kind", "subject", "what", "late", "struck_by", "hash"];
    let mut lines = vec![heading.map(str::to_owned).to_vec()];
    lines.extend(rows.iter().map(|LogRow { entry, struck_by }| {
        vec![
            entry.id(),
            entry.happened_at.to_string(),
            entry.recorded_at.to_string(),
            entry.by.clone(),
            entry.body.kind().to_owned(),
            entry.body.subject().to_owned(),
            entry.body.in_words(),
            if entry.is_late() { "yes" } else { "no" }.to_owned(),
            struck_by.clone().unwrap_or_default(),
            entry.hash.clone(),
        ]
    }));
    lines
}
