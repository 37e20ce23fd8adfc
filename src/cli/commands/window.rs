//! `cladlog window list`: every window that runs.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{coming, running_windows, window_words, windows_listed};

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
    let rows: Vec<Vec<String>> = running_windows(state, now)
        .iter()
        .map(|run| {
            let subject = state.subjects.get(run.subject).to_string();
            vec![subject, run.window.title.clone(), run.phase(now).word().to_owned(), window_words(run, now)]
        })
        .collect();
    if rows.is_empty() {
        out.line("No window is running.")?;
    } else {
        out.table(&["On", "Window", "State", "Next"], &rows)?;
    }
    for line in coming(state, now).iter().flat_map(|plan| plan.lines(now)) {
        out.line(line)?;
    }
    Ok(())
}
