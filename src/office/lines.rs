//! What a record comes to for an office: the job's line on the board, where its batches are, who worked when.

use chrono::{Days, TimeDelta};
use serde::{Deserialize, Serialize};

use crate::accounts::hours::{Worked, worked};
use crate::day::{Book, Phase, ReplayError, State, WindowRow, plain_label};
use crate::materials::product::Amount;
use crate::moment::{Moment, day_begins};
use crate::record::{Body, Entry, EntryId};
use crate::table::{Cell, Column, Row};

/// So many days ahead a line of the board is worked out. Time alone changes it: windows open and close, a batch
/// expires at midnight.
const AHEAD: Days = Days::new(7);

/// A job on the board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoardLine {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Who is on site.
    pub crew_on_site: Vec<String>,
    /// Windows that are about to close, the most pressing first, as `window list` has them.
    pub windows_closing: Vec<WindowRow>,
    /// When the first of all open windows closes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_closes_at: Option<Moment>,
    /// Hold points that were asked for and are not released.
    pub holds_waiting: Vec<HoldWaiting>,
    /// How many defects are open.
    pub defects_open: usize,
    /// Where work is stopped, and why.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stopped: Vec<Stopped>,
    /// What the work still to do takes and nobody has.
    pub short_of: Vec<Short>,
    /// When the last entry was recorded.
    pub last_entry_at: Moment,
    /// Its head code.
    pub last_head: String,
}

/// A hold point that waits for somebody.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HoldWaiting {
    /// Key of the hold point.
    pub key: String,
    /// What is to be released.
    pub title: String,
    /// Id of the subject.
    pub subject: String,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// When it was last asked for.
    pub asked_at: Moment,
}

/// Work that is stopped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stopped {
    /// The entry that says so.
    pub id: EntryId,
    /// Id of the subject.
    pub subject: String,
    /// What stopped it.
    pub cause: String,
    /// Since when.
    pub started_at: Moment,
}

/// A product that runs short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Short {
    /// The product.
    pub product: String,
    /// What it is counted in.
    pub unit: String,
    /// Whole units to order.
    pub short: Amount,
}

/// Where something of a batch is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The label, without what people write differently.
    pub label: String,
    /// Id of the subject.
    pub subject: String,
    /// The entry that says so.
    pub entry: EntryId,
}

/// A line of the board, and the time that it holds for.
#[derive(Debug, Clone)]
pub struct Stretch {
    /// From this moment on.
    pub since: Moment,
    /// Up to this one, which is no longer in it.
    pub until: Moment,
    /// What it says then.
    pub line: BoardLine,
}

impl BoardLine {
    /// What a record comes to at a moment: what happened later is left out.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn at(book: &Book, at: Moment) -> Result<Self, ReplayError> {
        let state = book.as_of(at)?;
        let then = |entry: &&Entry| entry.happened_at <= at || matches!(entry.body, Body::JobAdded(_));
        let last = book.entries.iter().rfind(then);
        let at = at.at_site(state.job.time_zone);
        let mut line = Self {
            key: state.job.key.clone(),
            name: state.job.name.clone(),
            crew_on_site: Vec::new(),
            windows_closing: Vec::new(),
            next_closes_at: None,
            holds_waiting: holds(&state),
            defects_open: state.defects.iter().filter(|defect| defect.is_open()).count(),
            stopped: state.open_stoppages().map(Stopped::from).collect(),
            short_of: short_of(&state, at),
            last_entry_at: last.map(|entry| entry.recorded_at).unwrap_or_default(),
            last_head: last.map(Entry::head_code).unwrap_or_default(),
        };
        line.tell_time(&state, at);
        Ok(line)
    }

    /// Puts in what time alone changes within a day.
    fn tell_time(&mut self, state: &State, at: Moment) {
        let mut runs = state.runs();
        runs.retain(|run| matches!(run.phase(at), Phase::Open | Phase::Closing));
        runs.sort_by_key(|run| run.closes_at);
        let closing = runs.iter().filter(|run| run.phase(at) == Phase::Closing);
        self.windows_closing = closing.map(|run| WindowRow::of(run, state, at)).collect();
        self.next_closes_at = runs.iter().filter_map(|run| run.closes_at).min();
        self.crew_on_site = crew(state, at);
    }

    /// The line from the last thing that happened, or from `now`, whichever is later, for a week ahead.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn ahead(book: &Book, now: Moment) -> Result<Vec<Stretch>, ReplayError> {
        let state = &book.state;
        let zone = state.job.time_zone;
        // Moments are whole seconds: what closes at one is closed a second later.
        let second = TimeDelta::seconds(1);
        let happened = book.entries.iter().map(|entry| entry.happened_at).max().unwrap_or(now);
        let since = happened.max(now).at_site(zone);
        let today = since.date();
        let end = today.checked_add_days(AHEAD).map_or(since, |day| day_begins(day, zone));
        let midnights = today.iter_days().skip(1).map(|day| day_begins(day, zone)).take_while(|at| *at < end);
        let mut changes: Vec<Moment> = midnights.collect();
        for run in state.runs() {
            changes.push(run.opens_at);
            changes.extend(run.warns_at);
            changes.extend(run.closes_at.map(|at| at + second));
        }
        // A day that nobody closes is over by itself.
        let open = state.days.iter().filter(|day| day.closed_at.is_none());
        changes.extend(open.map(|day| day.until(end) + second));
        changes.retain(|at| since < *at && *at < end);
        changes.sort_unstable();
        changes.dedup();
        let mut stretches = vec![Stretch { since, until: end, line: Self::at(book, since)? }];
        let mut day = today;
        for at in changes {
            let Some(last) = stretches.last_mut() else { break };
            let mut line = last.line.clone();
            line.tell_time(state, at);
            // What expires, expires at midnight.
            if at.date() != day {
                day = at.date();
                line.short_of = short_of(state, at);
            }
            if line != last.line {
                last.until = at;
                stretches.push(Stretch { since: at, until: end, line });
            }
        }
        Ok(stretches)
    }
}

fn crew(state: &State, at: Moment) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in state.days.iter().filter(|day| day.is_open_at(at)).flat_map(|day| day.crew_at(at)) {
        if !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
    names
}

fn holds(state: &State) -> Vec<HoldWaiting> {
    let waiting = state.holds().into_iter().filter(|(_, _, hold)| !hold.is_released());
    let waiting = waiting.filter_map(|(_, _, hold)| {
        let asked_at = hold.asked_at?;
        Some(HoldWaiting { key: hold.key, title: hold.title, subject: hold.subject, roles: hold.roles, asked_at })
    });
    waiting.collect()
}

impl From<&crate::day::Stoppage> for Stopped {
    fn from(stoppage: &crate::day::Stoppage) -> Self {
        Self {
            id: stoppage.entry.clone(),
            subject: stoppage.subject.clone(),
            cause: stoppage.cause.clone(),
            started_at: stoppage.started_at,
        }
    }
}

fn short_of(state: &State, at: Moment) -> Vec<Short> {
    let ledger = state.ledger(at);
    let short = ledger.lines.iter().filter(|line| line.short() != Amount::NONE);
    short.map(|line| Short { product: line.product.clone(), unit: line.unit.clone(), short: line.short() }).collect()
}

/// Where every batch of a job is.
pub fn places(book: &Book) -> Vec<Place> {
    let state = &book.state;
    let ledger = state.ledger(book.latest().unwrap_or_default());
    let batches = ledger.lines.iter().flat_map(|line| &line.batches);
    let mut places: Vec<Place> = batches
        .flat_map(|batch| {
            let on_wall = batch.taken.iter().filter(|counted| counted.taken.how.is_on_the_wall());
            on_wall.map(|counted| Place {
                label: plain_label(&batch.batch),
                subject: state.subjects.get(counted.taken.subject).to_string(),
                entry: counted.taken.entry.clone(),
            })
        })
        .collect();
    places.sort();
    places.dedup();
    places
}

/// Everybody's hours on a job.
pub fn hours(book: &Book) -> Vec<Worked> {
    worked(&book.state)
}

impl Row for BoardLine {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "key", title: "Job", cell: |it| (&it.key).into() },
        Column { key: "name", title: "Name", cell: |it| (&it.name).into() },
        Column { key: "crew_on_site", title: "On site", cell: |it| it.crew_on_site.clone().into() },
        Column { key: "next_closes_at", title: "Next closes", cell: |it| it.next_closes_at.into() },
        Column {
            key: "windows_closing",
            title: "Closing",
            cell: |it| it.windows_closing.iter().map(closing).collect::<Vec<_>>().into(),
        },
        Column {
            key: "holds_waiting",
            title: "Hold points",
            cell: |it| it.holds_waiting.iter().map(waiting).collect::<Vec<_>>().into(),
        },
        Column { key: "defects_open", title: "Defects", cell: |it| Cell::Count(it.defects_open as u64) },
        Column {
            key: "stopped",
            title: "Stopped",
            cell: |it| it.stopped.iter().map(stopped).collect::<Vec<_>>().into(),
        },
        Column {
            key: "short_of",
            title: "Short of",
            cell: |it| it.short_of.iter().map(|it| format!("{} {}", it.short, it.product)).collect::<Vec<_>>().into(),
        },
        Column { key: "last_entry_at", title: "Last entry", cell: |it| it.last_entry_at.into() },
        Column { key: "last_head", title: "Check", cell: |it| (&it.last_head).into() },
    ];
}

/// A closing window, in a few words.
fn closing(window: &WindowRow) -> String {
    let closes = window.closes_at.map(|at| format!(" closes {}", at.format("%H:%M"))).unwrap_or_default();
    format!("{} {}{closes}", window.subject, window.title)
}

/// A hold point that waits, in a few words.
fn waiting(hold: &HoldWaiting) -> String {
    format!(
        "{} {} for {}, since {}",
        hold.subject,
        hold.key,
        hold.roles.join(" or "),
        hold.asked_at.format("%-d %b %H:%M")
    )
}

/// A stoppage, in a few words.
fn stopped(stopped: &Stopped) -> String {
    format!("{}: {}, since {}", stopped.subject, stopped.cause, stopped.started_at.format("%-d %b %H:%M"))
}
