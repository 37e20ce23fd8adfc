//! Windows that run, as they are listed.

use serde::{Deserialize, Serialize};

use crate::building::SubjectIx;
use crate::day::rules::{Phase, Run};
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::record::EntryId;

/// A window that runs on a subject, as it is listed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowRow {
    /// Key.
    pub key: String,
    /// What it is.
    pub title: String,
    /// Id of the subject.
    pub subject: String,
    /// Where it stands.
    pub state: Phase,
    /// The entry that began it.
    pub from_entry: EntryId,
    /// When it began.
    pub began_at: Moment,
    /// When it opens.
    pub opens_at: Moment,
    /// When it warns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warns_at: Option<Moment>,
    /// When it closes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closes_at: Option<Moment>,
    /// When it lapsed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lapsed_at: Option<Moment>,
}

impl WindowRow {
    /// A run as it stands at a moment.
    pub fn of(run: &Run<'_>, state: &State, now: Moment) -> Self {
        Self {
            key: run.window.key.clone(),
            title: run.window.title.clone(),
            subject: state.subjects.get(run.subject).to_string(),
            state: run.phase(now),
            from_entry: run.from.entry.clone(),
            began_at: run.began,
            opens_at: run.opens_at,
            warns_at: run.warns_at,
            closes_at: run.closes_at,
            lapsed_at: run.lapsed(now),
        }
    }
}

/// Every window of a job that runs, the most pressing first.
pub fn running_windows(state: &State, now: Moment) -> Vec<Run<'_>> {
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
pub fn window_words(run: &Run<'_>, now: Moment) -> String {
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
pub struct WindowsAlike<'s> {
    /// The first of them.
    pub run: Run<'s>,
    /// Their subjects.
    pub subjects: Vec<SubjectIx>,
}

/// The running windows, the most pressing first; what runs alike stands together.
pub fn gathered_windows(state: &State, now: Moment) -> Vec<WindowsAlike<'_>> {
    let mut all: Vec<WindowsAlike<'_>> = Vec::new();
    for run in running_windows(state, now) {
        let alike = all.iter_mut().find(|other| {
            let other = &other.run;
            other.window.key == run.window.key
                && other.from.at == run.from.at
                && (other.opens_at, other.closes_at) == (run.opens_at, run.closes_at)
                && other.spoiled == run.spoiled
        });
        match alike {
            Some(other) => other.subjects.push(run.subject),
            None => all.push(WindowsAlike { subjects: vec![run.subject], run }),
        }
    }
    all
}
