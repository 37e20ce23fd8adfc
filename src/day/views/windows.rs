//! A window that runs, as it is listed.

use crate::day::rules::{Phase, Run};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::EntryId;
use crate::table::{Cell, Column, Row};

/// A window that runs on a subject, as it is listed.
#[derive(Debug, Clone, PartialEq)]
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
    pub warns_at: Option<Moment>,
    /// When it closes.
    pub closes_at: Option<Moment>,
    /// When it lapsed.
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
            began_at: run.from.at,
            opens_at: run.opens_at,
            warns_at: run.warns_at,
            closes_at: run.closes_at,
            lapsed_at: run.lapsed(now),
        }
    }
}

impl Row for WindowRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "key", title: "Window", cell: |it| (&it.key).into() },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "state", title: "State", cell: |it| it.state.word().into() },
        Column { key: "from_entry", title: "From entry", cell: |it| Cell::text(it.from_entry.to_string()) },
        Column { key: "began_at", title: "Began", cell: |it| it.began_at.into() },
        Column { key: "opens_at", title: "Opens", cell: |it| it.opens_at.into() },
        Column { key: "warns_at", title: "Warns", cell: |it| it.warns_at.into() },
        Column { key: "closes_at", title: "Closes", cell: |it| it.closes_at.into() },
        Column { key: "lapsed_at", title: "Lapsed", cell: |it| it.lapsed_at.into() },
        Column { key: "title", title: "What", cell: |it| (&it.title).into() },
    ];
}
