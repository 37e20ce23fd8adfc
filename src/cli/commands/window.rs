//! `cladlog window list`: every window that runs.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{Run, coming, running_windows, window_words, windows_listed};

/// Show the time windows
#[derive(Debug, Subcommand)]
pub enum WindowCommand {
    /// List every window: waiting, open, closing or lapsed
    List,
}

pub fn run(command: &WindowCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        WindowCommand::List => list(site, out),
    }
}

/// Prints the windows once: also what `watch --once` does.
pub fn list(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let (state, now) = (&opened.book.state, opened.now);
    if out.is_json() {
        return out.json(&windows_listed(state, now));
    }
    let row = |run: &Run<'_>| {
        let subject = state.subjects.get(run.subject).to_string();
        [subject, run.window.title.clone(), run.phase(now).word().to_owned(), window_words(run, now)]
    };
    match running_windows(state, now).as_slice() {
        [] => out.line("No window is running.")?,
        runs => out.table(["On", "Window", "State", "Next"], runs.iter().map(row))?,
    }
    coming(state, now).iter().flat_map(|plan| plan.lines(now)).try_for_each(|line| out.line(line))
}
