//! What a record opened and closed, in words.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};

use super::windows::window_words;
use super::words::the;
use crate::building::{SubjectIx, on_words};
use crate::day::facts::{Effect, Thing};
use crate::day::rules::{Phase, Run};
use crate::day::state::State;
use crate::moment::Moment;

/// One thing opened or closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Mark {
    /// What it is.
    #[serde(rename = "what", serialize_with = "word_of")]
    pub thing: Thing,
    /// Its id as text.
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

fn word_of<S: Serializer>(thing: &Thing, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(thing.word())
}

impl Effects {
    /// The effects of a record that followed on what was there; `state` is the state after it. A window that began and
    /// lapsed before it was recorded is closed by it: nobody had seen it run.
    pub fn of(effects: &[Effect], state: &State, now: Moment) -> Self {
        let mut found = Self::default();
        for effect in effects {
            match effect {
                Effect::Opened(thing) if state.is_lapsed(thing, now) => found.closed.push(state.mark(thing, now)),
                Effect::Opened(thing) => found.opened.push(state.mark(thing, now)),
                Effect::Closed(thing) => found.closed.push(state.mark(thing, now)),
                Effect::Changed(_) => {}
            }
        }
        found
    }

    /// The effects of what rewrote a book: what stands open in one state, and not in the other. A defect that was opened
    /// and ended at once was opened as well.
    pub fn between(before: &State, after: &State, now: Moment) -> Self {
        let (was, is) = (before.standing(now), after.standing(now));
        let new = after.defects.iter().map(|defect| &defect.id).filter(|id| before.defect(id).is_none());
        let ended = new.map(|id| Thing::Defect(id.clone())).filter(|thing| !is.contains(thing));
        let closed = was.difference(&is).map(|thing| match thing {
            Thing::Window { .. } => after.mark(thing, now),
            other => before.mark(other, now),
        });
        let began = |run: &Run<'_>| (run.thing(), run.from.entry.clone());
        let known: BTreeSet<_> = before.runs().iter().map(began).collect();
        let lapsed = after.runs().into_iter().filter(|run| run.lapsed(now).is_some() && !known.contains(&began(run)));
        let lapsed = lapsed.map(|run| run.thing()).filter(|thing| !was.contains(thing));
        Self {
            opened: is.difference(&was).cloned().chain(ended).map(|thing| after.mark(&thing, now)).collect(),
            closed: closed.chain(lapsed.map(|thing| after.mark(&thing, now))).collect(),
        }
    }

    /// The effects of a record that was not there at all before.
    pub fn all(state: &State, now: Moment) -> Self {
        let opened = state.standing(now).iter().map(|thing| state.mark(thing, now)).collect();
        Self { opened, closed: Vec::new() }
    }

    /// Adds those of another record.
    pub fn extend(&mut self, other: Self) {
        self.opened.extend(other.opened);
        self.closed.extend(other.closed);
    }
}

impl Run<'_> {
    fn thing(&self) -> Thing {
        Thing::Window { window: self.window.key.clone(), subject: self.subject }
    }
}

impl State {
    /// Everything that stands open at a moment.
    pub fn standing(&self, now: Moment) -> BTreeSet<Thing> {
        let defects = self.open_defects().map(|defect| Thing::Defect(defect.id.clone()));
        let runs = self.runs().into_iter().filter(|run| run.lapsed(now).is_none());
        let windows = runs.map(|run| run.thing());
        let held = self.hold_points().filter(|(hold, subject)| !self.is_released(*hold, *subject));
        let holds = held.map(|(hold, subject)| Thing::Hold { hold: self.sequence().holds[hold].key.clone(), subject });
        let stoppages = self.open_stoppages().map(|stoppage| Thing::Stoppage(stoppage.entry.clone()));
        let day = self.open_day().map(|day| Thing::Day { device: day.device.clone(), date: day.date });
        defects.chain(windows).chain(holds).chain(stoppages).chain(day).collect()
    }

    fn run_of(&self, thing: &Thing) -> Option<Run<'_>> {
        let Thing::Window { window, subject } = thing else { return None };
        let window = self.sequence().windows.index_of(|found| found.key == *window)?;
        self.run(window, *subject)
    }

    fn is_lapsed(&self, thing: &Thing, now: Moment) -> bool {
        self.run_of(thing).is_some_and(|run| run.phase(now) == Phase::Lapsed)
    }

    /// A thing with its id and what it is in words.
    fn mark(&self, thing: &Thing, now: Moment) -> Mark {
        let on = |key: &str, subject: SubjectIx| format!("{key} {}", self.subjects.get(subject));
        let (id, says) = match thing {
            Thing::Day { date, .. } => (date.to_string(), "site day".to_owned()),
            Thing::Defect(id) => {
                // What a rule found names its subject too, in a sentence of its own.
                let says = self.defect(id).map(|defect| format!("{}: {}", the(&defect.subject), defect.what));
                (id.to_string(), says.unwrap_or_default())
            }
            Thing::Hold { hold, subject } => {
                let title = self.sequence().hold(hold).map(|hold| self.sequence().holds[hold].title.clone());
                (on(hold, *subject), title.unwrap_or_default())
            }
            Thing::Stoppage(id) => {
                let says = self.stoppage(id).map(|found| format!("{}{}", found.cause, on_words(&found.subject)));
                (id.to_string(), says.unwrap_or_default())
            }
            Thing::Window { window, subject } => (on(window, *subject), self.window_in_words(thing, now)),
        };
        Mark { thing: thing.clone(), id, says }
    }

    fn window_in_words(&self, thing: &Thing, now: Moment) -> String {
        let Some(run) = self.run_of(thing) else { return "no longer runs".to_owned() };
        match run.phase(now) {
            Phase::Met => "done".to_owned(),
            Phase::Lapsed => format!("{}: {}", run.window.title, window_words(&run, now)),
            _ => {
                let closes = run.closes_at.map(|closes| format!(", closes {}", closes.clock(now.date())));
                let opens = run.opens_at.clock(now.date());
                format!("{}: opens {opens}{}", run.window.title, closes.unwrap_or_default())
            }
        }
    }
}
