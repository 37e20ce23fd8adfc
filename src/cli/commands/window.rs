//! `cladlog window list`: every window that runs.

use clap::Subcommand;
use serde_json::json;

use super::coming::coming;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{Phase, Run, State, WindowRow};
use crate::moment::{Moment, span};

/// Show the time windows
#[derive(Debug, Subcommand)]
pub enum WindowCommand {
    /// List every window: waiting, open, closing or lapsed
    List,
}

/// Every window of a job that runs, the most pressing first.
pub fn running(state: &State, now: Moment) -> Vec<Run<'_>> {
    let mut runs = state.runs();
    runs.sort_by_key(|run| match run.phase(now) {
        Phase::Closing => (0, run.closes_at),
        Phase::Open => (1, run.closes_at),
        Phase::Waiting => (2, Some(run.opens_at)),
        Phase::Lapsed | Phase::Met => (3, run.lapsed(now)),
    });
    runs
}

/// What a window does next, in words and by the clock.
pub fn in_words(run: &Run<'_>, now: Moment) -> String {
    let today = now.date();
    match (run.phase(now), run.closes_at) {
        (Phase::Waiting, _) => format!("opens {}, in {}", run.opens_at.clock(today), span(run.opens_at - now)),
        (Phase::Lapsed, _) => match (run.spoiled, run.lapsed(now)) {
            (Some(spoiled), _) => format!("lapsed {} by {}", spoiled.at.clock(today), spoiled.by),
            (None, Some(at)) => format!("lapsed {}, {} ago", at.clock(today), span(now - at)),
            (None, None) => "lapsed".to_owned(),
        },
        (_, Some(closes)) => format!("closes {}, in {}", closes.clock(today), span(closes - now)),
        (_, None) => format!("open since {}", run.opens_at.clock(today)),
    }
}

/// Runs of one window that share their times, with their subjects.
pub struct Together<'s> {
    /// The first of them.
    pub run: Run<'s>,
    /// Their subjects.
    pub subjects: Vec<usize>,
}

/// The running windows, the most pressing first; what runs alike stands together.
pub fn gathered(state: &State, now: Moment) -> Vec<Together<'_>> {
    let mut all: Vec<Together<'_>> = Vec::new();
    for run in running(state, now) {
        let alike = all.iter_mut().find(|other| {
            let other = &other.run;
            other.window.key == run.window.key
                && other.from.at == run.from.at
                && (other.opens_at, other.closes_at) == (run.opens_at, run.closes_at)
                && other.spoiled == run.spoiled
        });
        match alike {
            Some(other) => other.subjects.push(run.subject),
            None => all.push(Together { subjects: vec![run.subject], run }),
        }
    }
    all
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
        let windows: Vec<WindowRow> = running(state, now).iter().map(|run| WindowRow::of(run, state, now)).collect();
        let mut all = json!({ "windows": windows });
        if let Some(plan) = coming(state, now) {
            all["plan"] = json!(plan);
        }
        return out.json(&all);
    }
    let rows: Vec<Vec<String>> = running(state, now)
        .iter()
        .map(|run| {
            let subject = state.subjects.get(run.subject).to_string();
            vec![subject, run.window.title.clone(), run.phase(now).word().to_owned(), in_words(run, now)]
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
