//! `cladlog office board`.

use std::path::PathBuf;

use chrono::TimeDelta;
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

#[derive(Debug, Serialize)]
struct Board {
    jobs: Vec<BoardLine>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_replayed: Vec<NotReplayed>,
}

pub fn run(args: &BoardArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let at = at(site)?;
    let answer = board(&mut server, site.global.job.as_deref(), at)?;
    say_left_out(&answer.not_replayed, out);
    let lines = &answer.found;
    if let Some(file) = &args.html {
        args.csv.overwrite().write(file, page(lines, at, args.reload).as_bytes())?;
    }
    if args.csv.rows(lines, out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&Board { jobs: answer.found, not_replayed: answer.not_replayed });
    }
    if let Some(file) = &args.html {
        return out.line(format!("Wrote the board of {} to {}.", count(lines.len(), "job"), file.display()));
    }
    if lines.is_empty() {
        return out.line("No job is in the office yet: cladlog office push");
    }
    lines.iter().try_for_each(|line| print(line, out))
}

/// The moment that the board answers for. The sites of an office may lie in several time zones: a time of day alone
/// would mean another moment on each.
fn at(site: &Site<'_>) -> Result<Moment, Failure> {
    let Some(text) = &site.global.at else { return Ok(site.clock.now()) };
    Moment::parse_from_rfc3339(text.trim()).map_err(|_| {
        Failure::input(format!(
            "--at '{text}': over several sites give the moment in full, with its offset, such as 2026-03-02T10:40:00+13:00"
        ))
    })
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
fn page(lines: &[BoardLine], at: Moment, every_s: Option<u32>) -> String {
    let cell = |line: &BoardLine, key: &str| shown([line], &[key]).1.into_iter().flatten().collect::<String>();
    let job = |line: &&BoardLine| format!("{}\n{}", line.key, line.name);
    let mut page =
        Lists::new("Board", vec![format!("As at {}", at.format("%A %-d %B %Y %H:%M %:z")), count(lines.len(), "job")]);
    let soon = |line: &&BoardLine| line.next_closes_at.is_some_and(|closes| closes - at <= SOON);
    page.add(
        "Closing within two hours",
        "Nothing closes within two hours.",
        lines.iter().filter(soon),
        &[
            ("Job", 3, &job),
            ("Closes", 2, &|line| {
                let closes =
                    line.next_closes_at.map(|closes| format!("{}, in {}", closes.format("%H:%M"), span(closes - at)));
                closes.unwrap_or_default()
            }),
            ("Windows closing", 4, &|line| cell(line, "windows_closing")),
            ("On site", 3, &|line| cell(line, "crew_on_site")),
        ],
    );
    page.add(
        "Stopped",
        "Work is stopped on no job.",
        lines.iter().filter(|line| !line.stopped.is_empty()),
        &[("Job", 3, &job), ("Why", 6, &|line| cell(line, "stopped"))],
    );
    page.add(
        "Hold points waiting",
        "No hold point that was asked for waits.",
        lines.iter().filter(|line| !line.holds_waiting.is_empty()),
        &[("Job", 3, &job), ("Hold points", 6, &|line| cell(line, "holds_waiting"))],
    );
    page.add(
        "All jobs",
        "No job is in the office yet.",
        lines,
        &[
            ("Job", 3, &job),
            ("On site", 3, &|line| cell(line, "crew_on_site")),
            ("Defects open", 1, &|line| line.defects_open.to_string()),
            ("Short of", 3, &|line| cell(line, "short_of")),
            ("Last entry", 2, &|line| format!("{}\n{}", line.last_entry_at.format("%a %-d %b %H:%M"), line.last_head)),
        ],
    );
    page.html(every_s)
}
