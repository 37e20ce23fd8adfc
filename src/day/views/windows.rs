//! A window that runs, as it is listed.

use serde::Serialize;

use crate::day::rules::{Phase, Run};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::EntryId;

/// A window that runs on a subject, as it is listed.
#[derive(Debug, Clone, Serialize)]
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
