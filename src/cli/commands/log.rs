//! `cladlog log`: the record, readable.

use chrono::NaiveDate;
use clap::Args;
use serde::Serialize;

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::moment::{Moment, serialize_rfc3339};
use crate::record::LogRow;

/// Show the record, oldest first
#[derive(Debug, Args)]
pub struct LogArgs {
    /// Only what is about these subjects
    #[arg(long, value_name = "SUBJECT")]
    on: Option<String>,
    /// Only what happened on this day
    #[arg(long, value_name = "DATE")]
    day: Option<NaiveDate>,
    /// Only the newest entries
    #[arg(long, value_name = "N")]
    limit: Option<u32>,
}

#[derive(Serialize)]
struct Listed<'r> {
    id: String,
    hash: &'r str,
    device: &'r str,
    seq: u64,
    #[serde(serialize_with = "serialize_rfc3339")]
    happened_at: Moment,
    #[serde(serialize_with = "serialize_rfc3339")]
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
        let date = entry.happened_at.date_naive();
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
        out.line(format!("{} {} {}{late}{struck}", entry.happened_at.format("%H:%M"), entry.id(), entry.by))?;
        out.line(format!("      {}", entry.body.in_words()))?;
    }
    Ok(())
}

fn rows(args: &LogArgs, site: &Site<'_>) -> Result<Vec<LogRow>, Failure> {
    let filtered = args.on.is_some() || args.day.is_some();
    let store = crate::record::Store::read(&site.database()?)?;
    let stored = site.pick(store.jobs()?)?;
    // Without a filter the file itself counts off the newest: the log of a long job opens at once.
    let mut rows = store.log(&stored.key, args.limit.filter(|_| !filtered))?;
    if let Some(on) = &args.on {
        let opened = site.open()?;
        let subjects = &opened.book.state.subjects;
        let wanted = subjects.parse(on).map_err(Failure::input)?;
        rows.retain(|row| subjects.index(row.entry.body.subject()).is_some_and(|index| wanted.contains(&index)));
    }
    if let Some(day) = args.day {
        rows.retain(|row| row.entry.happened_at.date_naive() == day);
    }
    if let Some(limit) = args.limit {
        let surplus = rows.len().saturating_sub(limit as usize);
        rows.drain(..surplus);
    }
    Ok(rows)
}
