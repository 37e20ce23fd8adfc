//! `cladlog watch`: every running window, live.

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::time::Duration;

use clap::Args;
use console::Term;
use indicatif::{MultiProgress, ProgressBar, ProgressStyle};

use super::coming::coming;
use super::window::{self, Together, gathered, in_words};
use crate::cli::ctrl_c::CtrlC;
use crate::cli::failure::Failure;
use crate::cli::out::{COLUMNS, Out};
use crate::cli::site::Site;
use crate::day::{Phase, State};
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

/// Parts that a bar is divided into.
const PARTS: u64 = 1000;

fn live(site: &Site<'_>, colour: bool) -> Result<(), Failure> {
    let mut opened = site.open()?;
    let mut version = opened.store.data_version()?;
    let ctrl_c = CtrlC::listen()?;
    let mut screen = Screen::new(colour);
    let mut phases: BTreeMap<(String, usize, Moment), Phase> = BTreeMap::new();
    loop {
        let now = site.clock.now().at_site(opened.book.state.job.time_zone);
        // A reader's lock is never held for longer than one look; while another program writes, the next second will do.
        match opened.store.data_version() {
            Ok(found) if found != version => {
                match opened.store.entries_after(&opened.stored.key, opened.book.heads()) {
                    Ok(newer) => {
                        opened.book = opened.book.and(newer)?;
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
        let all = gathered(state, now);
        for found in &all {
            let run = &found.run;
            let phase = run.phase(now);
            let before = phases.insert((run.window.key.clone(), run.subject, run.from.at), phase);
            if before.is_some_and(|before| before != phase) {
                let on = state.subjects.shortly(&found.subjects);
                let what = format!("{}: {}, {}", on, run.window.title, state_in_words(found, now));
                screen.ring(&format!("{} {what}", now.format("%H:%M")));
            }
        }
        screen.show(state, &all, now);
        if ctrl_c.within(Duration::from_secs(1)) {
            screen.bars.clear()?;
            return Ok(());
        }
    }
}

/// The state in a word, and the time on the clock.
fn state_in_words(found: &Together<'_>, now: Moment) -> String {
    let phase = found.run.phase(now);
    let words = in_words(&found.run, now);
    // "lapsed 14:10 by rain" and "open since 11:30" name the state already.
    if words.starts_with(phase.word()) { words } else { format!("{}, {words}", phase.word()) }
}

/// The bars on the terminal.
struct Screen {
    bars: MultiProgress,
    head: ProgressBar,
    plan: ProgressBar,
    slots: Vec<ProgressBar>,
    colour: bool,
}

impl Screen {
    fn new(colour: bool) -> Self {
        let bars = MultiProgress::new();
        let head = bars.add(ProgressBar::new(0));
        head.set_style(plain());
        let plan = bars.add(ProgressBar::new(0));
        plan.set_style(plain());
        Self { bars, head, plan, slots: Vec::new(), colour }
    }

    /// Rings and leaves a line above the bars.
    fn ring(&self, line: &str) {
        // A terminal that is gone ends the program by itself.
        let _ = self.bars.println(visible(line));
        let _ = Term::stderr().write_str("\x07");
    }

    fn show(&mut self, state: &State, all: &[Together<'_>], now: Moment) {
        let (rows, columns) = Term::stderr().size();
        let columns = usize::from(columns).min(COLUMNS);
        let narrow = columns < COLUMNS;
        let plan: Vec<String> = coming(state, now).iter().flat_map(|plan| plan.lines(now)).collect();
        let fit = |line: &String| console::truncate_str(&visible(line), columns - 1, "…").into_owned();
        self.plan.set_message(plan.iter().map(fit).collect::<Vec<_>>().join("\n"));
        let fits = usize::from(rows.saturating_sub(3)).saturating_sub(plan.len()) / if narrow { 3 } else { 2 };
        let shown = all.len().min(fits.max(1));
        let mut head = format!("{}, {}", state.job.name, now.format("%a %-d %b %H:%M:%S"));
        if all.is_empty() {
            head.push_str(": no window is running");
        } else if shown < all.len() {
            head.push_str(&format!("; {} more: cladlog window list", all.len() - shown));
        }
        if !narrow {
            head.push_str(". Ctrl-C to leave");
        }
        self.head.set_message(visible(&head));
        while self.slots.len() > shown {
            if let Some(slot) = self.slots.pop() {
                slot.finish_and_clear();
                self.bars.remove(&slot);
            }
        }
        while self.slots.len() < shown {
            self.slots.push(self.bars.add(ProgressBar::new(PARTS)));
        }
        for (slot, found) in self.slots.iter().zip(all) {
            let title = format!("{}  {}", state.subjects.shortly(&found.subjects), found.run.window.title);
            slot.set_position(share(found, now));
            slot.set_style(style(found.run.phase(now), narrow, self.colour));
            slot.set_prefix(visible(&console::truncate_str(&title, columns - 1, "…")));
            slot.set_message(state_in_words(found, now));
            slot.tick();
        }
    }
}

/// How far a window has come, in thousandths: to its opening while it waits, then to its closing.
fn share(found: &Together<'_>, now: Moment) -> u64 {
    let run = &found.run;
    let (from, until) = match run.phase(now) {
        Phase::Waiting => (run.from.at, Some(run.opens_at)),
        Phase::Open | Phase::Closing => (run.opens_at, run.closes_at),
        Phase::Lapsed | Phase::Met => return PARTS,
    };
    let Some(until) = until else { return 0 };
    let (gone, whole) = ((now - from).num_seconds().max(0), (until - from).num_seconds().max(1));
    (gone.unsigned_abs() * PARTS / whole.unsigned_abs()).min(PARTS)
}

fn plain() -> ProgressStyle {
    // The template is fixed: it can't be wrong.
    ProgressStyle::with_template("{msg}").unwrap_or_else(|_| ProgressStyle::default_bar())
}

fn style(phase: Phase, narrow: bool, colour: bool) -> ProgressStyle {
    let paint = match phase {
        _ if !colour => "",
        Phase::Waiting => ".cyan",
        Phase::Open | Phase::Met => ".green",
        Phase::Closing => ".yellow",
        Phase::Lapsed => ".red",
    };
    let apart = if narrow { "\n  " } else { " " };
    let template = format!("{{prefix}}\n  [{{bar:24{paint}}}]{apart}{{msg}}");
    ProgressStyle::with_template(&template).unwrap_or_else(|_| ProgressStyle::default_bar()).progress_chars("=>-")
}
