//! `cladlog day`: open it, join it, leave it, close it, and say what became of it.

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::{Out, wrapped};
use crate::cli::prompts;
use crate::cli::prompts::question::Terminal;
use crate::cli::site::{Site, print};
use crate::day::Book;
use crate::handover::{Ahead, Evening};
use crate::moment::Moment;
use crate::record::{CloseDay, JoinDay, LeaveDay, OpenDay};
use crate::units::parse_hours;

/// Open the site day, add people, close it, report on it
#[derive(Debug, Subcommand)]
pub enum DayCommand {
    /// Open the site day: crew, pre-start talk, hazards
    Open(OpenDay),
    /// Record who came onto site later
    Join(JoinDay),
    /// Record who left the site before the day is closed
    Leave(LeaveDay),
    /// Close the site day: hours, what closes overnight, first tasks tomorrow
    Close(CloseArgs),
    /// Report on a day: what was done, what is open
    Report(ReportArgs),
}

#[derive(Debug, Args)]
pub struct CloseArgs {
    /// Hours worked by each of the crew
    #[arg(long, num_args = 1.., value_name = "NAME=HOURS")]
    pub hours: Vec<String>,
    #[command(flatten)]
    pub day: CloseDay,
}

#[derive(Debug, Args)]
pub struct ReportArgs {
    /// The day, such as 2026-03-02 [default: the last one]
    #[arg(long, value_name = "DATE")]
    pub day: Option<chrono::NaiveDate>,
    /// Print only the text for the builder's phone: at most 320 characters, what the builder has to do first
    #[arg(long, conflicts_with_all = ["pdf", "html"])]
    pub text: bool,
    /// Write it as one page to print or to send
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
    /// Write it as one page for a phone
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
}

pub fn run(command: &DayCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        DayCommand::Open(request) => open(request, site, out),
        DayCommand::Join(request) => site.record_and_print(request, out),
        DayCommand::Leave(request) => site.record_and_print(request, out),
        DayCommand::Close(args) => close(args, site, out),
        DayCommand::Report(args) => report(args, site, out),
    }
}

fn open(given: &OpenDay, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let asks = given.crew.is_empty();
    if asks && !std::io::stdin().is_terminal() {
        return Err(Failure::input_hint(
            "there is no terminal to ask on, and --crew is missing",
            "cladlog day open --crew NAME… --talk TEXT --hazard TEXT",
        ));
    }
    let mut journal = site.journal()?;
    let now = site.now(journal.book());
    let asked = asks.then(|| prompts::day::open(journal.book(), now, &mut Terminal)).transpose()?;
    let recorded = site.record_in(&mut journal, &[asked.as_ref().unwrap_or(given)])?;
    print(&recorded, journal.book(), out)?;
    if !out.is_json() {
        journal.book().state.exposure_lines(now).iter().for_each(|line| out.say(wrapped(line, 2)));
    }
    Ok(())
}

fn close(args: &CloseArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let hours = if args.hours.is_empty() && std::io::stdin().is_terminal() {
        prompts::day::hours(journal.book(), site.now(journal.book()), &mut Terminal)?
    } else {
        hours_of(&args.hours)?
    };
    let recorded = site.record_in(&mut journal, &[&CloseDay { hours, ..args.day.clone() }])?;
    let book = journal.book();
    print(&recorded, book, out)?;
    if out.is_json() { Ok(()) } else { print_evening(book, site.now(book), out) }
}

/// What a lead wants to know when the day is closed.
fn print_evening(book: &Book, now: Moment, out: &mut Out) -> Result<(), Failure> {
    for line in Ahead::of(&book.state, now).lines() {
        out.wrapped(&line, 4)?;
    }
    Ok(())
}

/// Reads NAME=HOURS.
fn hours_of(given: &[String]) -> Result<BTreeMap<String, f64>, Failure> {
    let mut hours = BTreeMap::new();
    for item in given {
        let (name, worked) = item
            .rsplit_once('=')
            .ok_or_else(|| Failure::input(format!("--hours '{item}': write NAME=HOURS, as in 'Ana=8'")))?;
        let worked = parse_hours(worked).map_err(|error| Failure::input(format!("--hours {name}: {error}")))?;
        if hours.insert(name.to_owned(), worked).is_some() {
            return Err(Failure::input(format!("--hours {name} is given twice")));
        }
    }
    Ok(hours)
}

fn report(args: &ReportArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    args.pdf.iter().chain(&args.html).try_for_each(|file| args.over.may_write(file))?;
    let opened = site.open()?;
    let at = site.at(&opened.book, opened.now)?;
    let known = opened.book.state.days.iter().map(|day| day.date).rfind(|date| *date <= at.date());
    let Some(date) = args.day.or(known) else {
        return Err(Failure::input("no site day has been opened on this job yet"));
    };
    if at > opened.now || date > opened.now.date() {
        return Err(Failure::input("that day has not happened yet"));
    }
    let report = Evening::of(&opened.book, date, at)?;
    if let Some(path) = &args.pdf {
        args.over.write(path, &pdf_of(&report)?)?;
        out.say(format!("{}: the report of {}", path.display(), date.format("%A %-d %B")));
    }
    if let Some(path) = &args.html {
        args.over.write(path, report.html().as_bytes())?;
        out.say(format!("{}: the report of {}", path.display(), date.format("%A %-d %B")));
    }
    if out.is_json() {
        return out.json(&Report { report: &report, text: report.phone_text() });
    }
    if args.text {
        return out.line(report.phone_text());
    }
    if args.pdf.is_some() || args.html.is_some() {
        return Ok(());
    }
    for line in report.lines() {
        out.wrapped(&line, 4)?;
    }
    Ok(())
}

/// The report with its text for the builder's phone.
#[derive(serde::Serialize)]
struct Report<'r> {
    #[serde(flatten)]
    report: &'r Evening,
    text: String,
}

#[cfg(feature = "pdf")]
fn pdf_of(report: &Evening) -> Result<Vec<u8>, Failure> {
    report.pdf().map_err(Failure::machine)
}

#[cfg(not(feature = "pdf"))]
fn pdf_of(_: &Evening) -> Result<Vec<u8>, Failure> {
    let what = "this build writes no PDF: it was made without the feature 'pdf'";
    Err(Failure::input_hint(what, "the same page for a phone or a browser: --html FILE"))
}
