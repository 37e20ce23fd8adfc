//! `cladlog watch`: every running window, live.

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::time::Duration;

use clap::Args;
use console::Term;
use indicatif::{ProgressBar, ProgressStyle};

use super::window;
use crate::building::SubjectIx;
use crate::cli::ctrl_c::CtrlC;
use crate::cli::failure::Failure;
use crate::cli::out::{Out, TERMINAL_WIDTH};
use crate::cli::site::Site;
use crate::day::{Phase, State, WindowsAlike, coming, gathered_windows, window_words};
use crate::journal::rescue;
use crate::moment::Moment;
use crate::plain::visible;
use crate::record::StoreError;

/// Keep every running window on screen, with a bell before it closes
#[derive(Debug, Args)]
pub struct WatchArgs {
    /// Print the windows once and exit
    #[arg(long)]
    once: bool,
}

pub fn run(args: &WatchArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let seen = std::io::stdout().is_terminal() && std::io::stderr().is_terminal();
    if args.once || out.is_json() || !seen {
        return window::list(site, out);
    }
    if site.global.at.is_some() {
        let hint = "for another moment: cladlog watch --once --at TIME";
        return Err(Failure::input_hint("watch shows the present, so it does not accept --at", hint));
    }
    live(site, out.colour())
}

fn live(site: &Site<'_>, colour: bool) -> Result<(), Failure> {
    let mut opened = site.open()?;
    let mut version = opened.store.data_version()?;
    let ctrl_c = CtrlC::listen()?;
    let screen = ProgressBar::new_spinner();
    // The template is fixed: it can't be wrong.
    screen.set_style(ProgressStyle::with_template("{msg}").unwrap_or_else(|_| ProgressStyle::default_spinner()));
    let mut phases: BTreeMap<(String, SubjectIx, Moment), Phase> = BTreeMap::new();
    loop {
        let now = site.clock.now().at_site(opened.book.state.job.time_zone);
        opened.store.in_place().map_err(|error| rescue(error, &opened.book))?;
        // A reader's lock is never held for longer than one look; while another program writes, the next second will do.
        match opened.store.data_version() {
            Ok(found) if found != version => {
                match opened.store.entries_after(&opened.stored.key, opened.book.heads()) {
                    Ok(newer) => {
                        opened.book.refresh(newer)?;
                        version = found;
                    }
                    Err(StoreError::Busy(_)) => {}
                    Err(error) => return Err(error.into()),
                }
            }
            Ok(_) | Err(StoreError::Busy(_)) => {}
            Err(error) => return Err(error.into()),
        }
        let state = &opened.book.state;
        let all = gathered_windows(state, now);
        for found in &all {
            let run = &found.run;
            let phase = run.phase(now);
            let before = phases.insert((run.window.key.clone(), run.subject, run.from.at), phase);
            if before.is_some_and(|before| before != phase) {
                let (on, words) = (state.subjects.shortly(&found.subjects), state_window_words(found, now));
                let line = format!("{} {on}: {}, {words}", now.format("%H:%M"), run.window.title);
                screen.println(visible(&line));
                // A terminal that is gone ends the program by itself.
                let _ = Term::stderr().write_str("\x07");
            }
        }
        screen.set_message(picture(state, &all, now, Term::stderr().size(), colour));
        screen.tick();
        if ctrl_c.within(Duration::from_secs(1)) {
            screen.finish_and_clear();
            return Ok(());
        }
    }
}

/// The screen: a heading, what the seal plan asks for next, and for each window a bar with words beside it.
fn picture(state: &State, all: &[WindowsAlike<'_>], now: Moment, (rows, columns): (u16, u16), colour: bool) -> String {
    let columns = usize::from(columns).min(TERMINAL_WIDTH);
    let narrow = columns < TERMINAL_WIDTH;
    let plan: Vec<String> = coming(state, now).iter().flat_map(|plan| plan.lines(now)).collect();
    let fits = usize::from(rows).saturating_sub(3 + plan.len()) / if narrow { 3 } else { 2 };
    let shown = all.len().min(fits.max(1));
    let mut head = format!("{}, {}", state.job.name, now.format("%a %-d %b %H:%M:%S"));
    if all.is_empty() {
        head.push_str(": no window is running");
    } else if shown < all.len() {
        head.push_str(&format!("; {} more: cladlog window list", all.len() - shown));
    }
    const LEAVE: &str = ". Ctrl-C to leave";
    if console::measure_text_width(&head) + LEAVE.len() < columns {
        head.push_str(LEAVE);
    }
    let mut lines = vec![visible(&head)];
    lines.extend(plan.iter().map(|line| visible(line)));
    for found in &all[..shown] {
        lines.push(visible(&format!("{}  {}", state.subjects.shortly(&found.subjects), found.run.window.title)));
        let (bar, words) = (bar(found, now, colour), visible(&state_window_words(found, now)));
        if narrow {
            lines.extend([format!("  {bar}"), format!("  {words}")]);
        } else {
            lines.push(format!("  {bar} {words}"));
        }
    }
    let fit = |line: &String| console::truncate_str(line, columns - 1, "…").into_owned();
    lines.iter().map(fit).collect::<Vec<_>>().join("\n")
}

/// The state in a word, and the time on the clock.
fn state_window_words(found: &WindowsAlike<'_>, now: Moment) -> String {
    let phase = found.run.phase(now);
    let words = window_words(&found.run, now);
    // "lapsed 14:10 by rain" and "open since 11:30" name the state already.
    if words.starts_with(phase.word()) { words } else { format!("{}, {words}", phase.word()) }
}

/// How far a window has come: to its opening while it waits, then to its closing.
fn bar(found: &WindowsAlike<'_>, now: Moment, colour: bool) -> String {
    const WIDTH: usize = 24;
    let run = &found.run;
    let phase = run.phase(now);
    let (from, until) = match phase {
        Phase::Waiting => (run.from.at, Some(run.opens_at)),
        Phase::Open | Phase::Closing => (run.opens_at, run.closes_at),
        Phase::Lapsed | Phase::Met => (run.from.at, Some(run.from.at)),
    };
    let seconds = |length: chrono::TimeDelta| usize::try_from(length.num_seconds()).unwrap_or(0);
    let full = until.map_or(0, |until| match seconds(until - from) {
        0 => WIDTH,
        whole => (seconds(now - from) * WIDTH / whole).min(WIDTH),
    });
    let head = if full < WIDTH { ">" } else { "" };
    let bar = format!("{}{head}{}", "=".repeat(full), "-".repeat(WIDTH - full - head.len()));
    let bar = console::style(bar).for_stderr().force_styling(colour);
    let bar = match phase {
        Phase::Waiting => bar.cyan(),
        Phase::Open | Phase::Met => bar.green(),
        Phase::Closing => bar.yellow(),
        Phase::Lapsed => bar.red(),
    };
    format!("[{bar}]")
}
