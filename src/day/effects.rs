//! What an entry opened and closed: two states compared.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::state::{DefectState, HoldState, State};
use super::windows::Phase;
use crate::moment::Moment;

/// One thing opened or closed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Mark {
    /// What sort of thing: defect, window, hold, stoppage, day.
    pub what: &'static str,
    /// Its id.
    pub id: String,
    /// In words, for people.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub says: String,
}

/// What was opened and what was closed.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Effects {
    /// Newly there.
    pub opened: Vec<Mark>,
    /// No longer there.
    pub closed: Vec<Mark>,
}

/// What stands open at a moment.
#[derive(Debug, Clone, Default)]
pub struct Snapshot {
    open: BTreeMap<(&'static str, String), String>,
    /// Defects known at all: one that was opened and ended by the same record still is told as opened.
    known: BTreeSet<String>,
    /// Windows that lapsed, and windows whose second step was done: a window closes either way.
    lapsed: BTreeSet<String>,
    done: BTreeSet<String>,
}

impl Snapshot {
    /// Takes down what stands open.
    pub fn of(state: &State, now: Moment) -> Self {
        let mut open = BTreeMap::new();
        for defect in state.defects.iter().filter(|defect| defect.state == DefectState::Open) {
            open.insert(("defect", defect.id.clone()), format!("{} on {}", defect.what, defect.subject));
        }
        let (mut lapsed, mut done) = (BTreeSet::new(), BTreeSet::new());
        let windows = 0..state.sequence().windows.len();
        let each = windows.flat_map(|window| (0..state.subjects.len()).filter_map(move |on| state.run(window, on)));
        for run in each {
            if run.answered.is_some() {
                done.insert(format!("{} {}", run.window.key, state.subjects.get(run.subject)));
            } else if run.phase(now) == Phase::Lapsed {
                lapsed.insert(format!("{} {}", run.window.key, state.subjects.get(run.subject)));
            } else {
                let subject = state.subjects.get(run.subject);
                let until = run.closes_at.map(|closes| format!(", closes {}", closes.clock(now.date())));
                let says = format!(
                    "{}: opens {}{}",
                    run.window.title,
                    run.opens_at.clock(now.date()),
                    until.unwrap_or_default()
                );
                open.insert(("window", format!("{} {subject}", run.window.key)), says);
            }
        }
        for (hold, subject, life) in state.holds() {
            if life.state != HoldState::Released {
                let hold = &state.sequence().holds[hold];
                let id = format!("{} {}", hold.key, state.subjects.get(subject));
                open.insert(("hold", id), hold.title.clone());
            }
        }
        for stoppage in state.open_stoppages() {
            open.insert(("stoppage", stoppage.entry.clone()), format!("{} on {}", stoppage.cause, stoppage.subject));
        }
        if let Some(day) = state.open_day() {
            open.insert(("day", day.date.to_string()), "site day".to_owned());
        }
        let known = state.defects.iter().map(|defect| defect.id.clone()).collect();
        Self { open, known, lapsed, done }
    }

    /// What is open in `after` and was not here, and the other way round.
    pub fn effects(&self, after: &Self) -> Effects {
        let mark =
            |(what, id): &(&'static str, String), says: &String| Mark { what, id: id.clone(), says: says.clone() };
        let mut opened: Vec<Mark> = after
            .open
            .iter()
            .filter(|(key, _)| !self.open.contains_key(*key))
            .map(|(key, says)| mark(key, says))
            .collect();
        let closed: Vec<Mark> = self
            .open
            .iter()
            .filter(|(key, _)| !after.open.contains_key(*key))
            .map(|(key, says)| match key.0 {
                "window" if after.lapsed.contains(&key.1) => mark(key, &"lapsed".to_owned()),
                "window" if after.done.contains(&key.1) => mark(key, &"done".to_owned()),
                "window" => mark(key, &"no longer runs".to_owned()),
                _ => mark(key, says),
            })
            .collect();
        // A defect that was opened and ended by the same record still was opened.
        opened.extend(
            after
                .known
                .iter()
                .filter(|id| !self.known.contains(*id) && !after.open.contains_key(&("defect", (*id).clone())))
                .map(|id| Mark { what: "defect", id: id.clone(), says: String::new() }),
        );
        Effects { opened, closed }
    }
}
