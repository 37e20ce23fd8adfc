//! `cladlog office board`.

use std::path::PathBuf;

use chrono::TimeDelta;
use chrono_tz::Tz;
use clap::Args;
use serde::Serialize;

use crate::cli::commands::office::commands::say_left_out;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::handover::Lists;
use crate::moment::{Moment, span};
use crate::office::{BoardLine, NotReplayed, Server, board};
use crate::plain::count;
use crate::table::shown;

/// What closes within this time comes first on the page.
const SOON: TimeDelta = TimeDelta::hours(2);

/// Show every job: who is on site, what closes, which hold points wait, what is short
#[derive(Debug, Args)]
pub struct BoardArgs {
    /// Write it as one page to leave open on a screen
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Have the browser read the page anew every so many seconds
    #[arg(long, value_name = "SECONDS", requires = "html", value_parser = clap::value_parser!(u32).range(1..))]
    reload: Option<u32>,
    #[command(flatten)]
    csv: CsvTo,
}

/// A job on the board, and the moment that its line answers for.
#[derive(Debug, Serialize)]
struct OnBoard<'b> {
    #[serde(flatten)]
    line: &'b BoardLine,
    at: Moment,
}

#[derive(Debug, Serialize)]
struct Board<'b> {
    jobs: Vec<OnBoard<'b>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_replayed: Vec<NotReplayed>,
}

pub fn run(args: &BoardArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let now = site.clock.now();
    // What can't be read at all is named also where there is no job yet.
    let utc = site.at_in(Tz::UTC, now)?;
    let answer = board(&mut server, site.global.job.as_deref(), &|zone| site.read_at(zone, now.at_site(zone)))?;
    say_left_out(&answer.not_replayed, out);
    let (moments, lines): (Vec<Moment>, Vec<BoardLine>) = answer.found.into_iter().unzip();
    let jobs: Vec<OnBoard<'_>> = moments.into_iter().zip(&lines).map(|(at, line)| OnBoard { line, at }).collect();
    if let Some(file) = &args.html {
        args.csv.overwrite().write(file, page(&jobs, &as_at(site, utc), args.reload).as_bytes())?;
    }
    if args.csv.rows(&lines, out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&Board { jobs, not_replayed: answer.not_replayed });
    }
    if let Some(file) = &args.html {
        return out.line(format!("Wrote the board of {} to {}.", count(jobs.len(), "job"), file.display()));
    }
    if jobs.is_empty() {
        return out.line("No job is in the office yet: cladlog office push");
    }
    jobs.iter().try_for_each(|job| print(job.line, out))
}

/// What the board answers for, in words. The sites of an office may lie in several time zones: a time of day is another
/// moment in each.
fn as_at(site: &Site<'_>, utc: Moment) -> String {
    match site.global.at.as_deref().map(str::trim) {
        Some(text) if Moment::parse_from_rfc3339(text).is_err() => {
            format!("As at {text} today, by the clocks of each site")
        }
        given => {
            let moment = given.and_then(|text| Moment::parse_from_rfc3339(text).ok());
            let moment = moment.unwrap_or_else(|| utc.at_offset(site.clock.now().offset()));
            format!("As at {}", moment.format("%A %-d %B %Y %H:%M %:z"))
        }
    }
}

/// One job for a person: what is empty is left out.
fn print(line: &BoardLine, out: &mut Out) -> Result<(), Failure> {
    out.wrapped(&format!("{}  {}", line.key, line.name), 2)?;
    let keys = ["crew_on_site", "next_closes_at", "windows_closing", "holds_waiting", "stopped", "short_of"];
    let (titles, cells) = shown([line], &keys);
    for (title, cell) in titles.iter().zip(cells.into_iter().flatten()).filter(|(_, cell)| !cell.is_empty()) {
        out.wrapped(&format!("  {title}: {cell}"), 4)?;
    }
    let defects = count(line.defects_open, "defect");
    let last = line.last_entry_at.format("%a %-d %b %H:%M");
    out.wrapped(&format!("  {defects} open. Last entry {last}, check {}", line.last_head), 4)
}

/// The board as a page: what closes soon, what is stopped, what waits for somebody, and all jobs.
fn page(jobs: &[OnBoard<'_>], as_at: &str, every_s: Option<u32>) -> String {
    let cell = |job: &OnBoard<'_>, key: &str| shown([job.line], &[key]).1.into_iter().flatten().collect::<String>();
    let name = |job: &&OnBoard<'_>| format!("{}\n{}", job.line.key, job.line.name);
    let mut page = Lists::new("Board", vec![as_at.to_owned(), count(jobs.len(), "job")]);
    let soon = |job: &&OnBoard<'_>| job.line.next_closes_at.is_some_and(|closes| closes - job.at <= SOON);
    page.add(
        "Closing within two hours",
        "Nothing closes within two hours.",
        jobs.iter().filter(soon),
        &[
            ("Job", 3, &name),
            ("Closes", 2, &|job| {
                let closes = job.line.next_closes_at;
                let closes = closes.map(|closes| format!("{}, in {}", closes.format("%H:%M"), span(closes - job.at)));
                closes.unwrap_or_default()
            }),
            ("Windows closing", 4, &|job| cell(job, "windows_closing")),
            ("On site", 3, &|job| cell(job, "crew_on_site")),
        ],
    );
    page.add(
        "Stopped",
        "Work is stopped on no job.",
        jobs.iter().filter(|job| !job.line.stopped.is_empty()),
        &[("Job", 3, &name), ("Why", 6, &|job| cell(job, "stopped"))],
    );
    page.add(
        "Hold points waiting",
        "No hold point that was asked for waits.",
        jobs.iter().filter(|job| !job.line.holds_waiting.is_empty()),
        &[("Job", 3, &name), ("Hold points", 6, &|job| cell(job, "holds_waiting"))],
    );
    page.add(
        "All jobs",
        "No job is in the office yet.",
        jobs,
        &[
            ("Job", 3, &name),
            ("On site", 3, &|job| cell(job, "crew_on_site")),
            ("Defects open", 1, &|job| job.line.defects_open.to_string()),
            ("Short of", 3, &|job| cell(job, "short_of")),
            ("Last entry", 2, &|job| {
                format!("{}\n{}", job.line.last_entry_at.format("%a %-d %b %H:%M"), job.line.last_head)
            }),
        ],
    );
    page.html(every_s)
}
