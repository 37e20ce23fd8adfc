//! Stoppages: work that stood still, why, and who was told.

use super::decide::Decision;
use super::request::DecideError;
use super::state::State;
use crate::building::{Subject, Subjects};
use crate::form::check_name;
use crate::moment::{Moment, span};
use crate::record::{Body, Entry};
use crate::refusal::{Refusal, Rule};
use crate::units::number::shortened;

/// Most people that a crew on one job is taken to have.
pub(super) const MOST_PEOPLE: u32 = 200;

/// A time in which work stood still.
#[derive(Debug, Clone)]
pub struct Stoppage {
    /// Id of the entry that started it.
    pub entry: String,
    /// Id of the subject; `job` for all of it.
    pub subject: String,
    /// What stopped it.
    pub cause: String,
    /// Who was told, of the job or not.
    pub told: Vec<String>,
    /// How many stood idle; everybody on site when it was not said.
    pub people: Option<u32>,
    /// Who recorded it.
    pub by: String,
    /// When it began.
    pub started_at: Moment,
    /// When work went on.
    pub ended_at: Option<Moment>,
    /// Id of the entry that ended it.
    pub ended_by: Option<String>,
    /// Remark at its end.
    pub note: Option<String>,
}

impl Stoppage {
    /// An open stoppage in a line: what stands still, since when, why, who was told.
    pub fn standing(&self, now: Moment) -> String {
        format!(
            "STOPPED on {} since {} ({}): {}; told {}",
            self.subject,
            self.started_at.clock(now.date()),
            span(now - self.started_at),
            self.cause,
            self.told.join(", ")
        )
    }

    /// Whether it stops work on a subject: on the subject itself, on a wall that it touches, on the whole job.
    pub fn stops(&self, subjects: &Subjects, subject: usize) -> bool {
        let Some(stopped) = subjects.index(&self.subject) else { return false };
        *subjects.get(stopped) == Subject::Job || stopped == subject || subjects.walls_of(subject).contains(&stopped)
    }
}

impl State {
    /// Stoppages that have not ended.
    pub fn open_stoppages(&self) -> impl Iterator<Item = &Stoppage> {
        self.stoppages.iter().filter(|stoppage| stoppage.ended_at.is_none())
    }

    /// The stoppage that an entry started.
    pub fn stoppage(&self, entry: &str) -> Option<&Stoppage> {
        self.stoppages.iter().find(|stoppage| stoppage.entry == entry)
    }

    pub(super) fn apply_stoppage(&mut self, entry: &Entry) {
        match &entry.body {
            Body::StoppageStarted { subject, cause, told, people } => {
                if self.subjects.index(subject).is_none() {
                    return self.not_understood.push(entry.id());
                }
                self.stoppages.push(Stoppage {
                    entry: entry.id(),
                    subject: subject.clone(),
                    cause: cause.clone(),
                    told: told.clone(),
                    people: *people,
                    by: entry.by.clone(),
                    started_at: entry.happened_at,
                    ended_at: None,
                    ended_by: None,
                    note: None,
                });
            }
            Body::StoppageEnded { stoppage, note } => {
                let open = |one: &&mut Stoppage| one.entry == *stoppage && one.ended_at.is_none();
                match self.stoppages.iter_mut().find(open) {
                    Some(found) => {
                        found.ended_at = Some(entry.happened_at);
                        found.ended_by = Some(entry.id());
                        found.note = note.clone();
                    }
                    None => {
                        let id = format!("{}.r12-stoppage", entry.id());
                        let refusal = not_open(stoppage, "it was not open then", "strike this entry");
                        self.open_refused(entry, id, "job", &refusal);
                    }
                }
            }
            _ => {}
        }
    }
}

/// Names of people who need not be of the job.
pub(super) fn names(option: &str, names: &[String]) -> Result<Vec<String>, DecideError> {
    for name in names {
        check_name(name).map_err(|why| DecideError::Input(format!("{option}: the name {why}")))?;
    }
    let mut seen = std::collections::BTreeSet::new();
    Ok(names.iter().filter(|name| seen.insert(name.as_str())).cloned().collect())
}

/// A number of people that can be taken for true.
pub(super) fn crew_of(people: Option<u32>) -> Result<Option<u32>, DecideError> {
    match people.filter(|people| !(1..=MOST_PEOPLE).contains(people)) {
        Some(people) => Err(DecideError::Input(format!("--people {people} is outside 1 to {MOST_PEOPLE}"))),
        None => Ok(people),
    }
}

/// Work stopped. `state` is the state of then, `since` that of now.
pub(super) fn start(
    state: &State,
    since: &State,
    on: &str,
    cause: &str,
    told: &[String],
    people: Option<u32>,
) -> Result<Decision, DecideError> {
    let each = state.subjects.parse(on)?;
    if told.is_empty() {
        return Err(DecideError::Input("a stoppage says who was told: --told NAME…".into()));
    }
    let (told, people) = (names("--told", told)?, crew_of(people)?);
    let mut bodies = Vec::new();
    for index in each {
        let subject = state.subjects.get(index).to_string();
        if let Some(open) = state.open_stoppages().find(|open| open.subject == subject) {
            let began = open.started_at.format("%a %-d %b %H:%M");
            let over = since.stoppage(&open.entry).and_then(|one| one.ended_at);
            let clears = match over {
                Some(over) => {
                    format!("that one was over on {}: give a time from then on", over.format("%a %-d %b %H:%M"))
                }
                None => format!("when that one was over: cladlog stoppage end {} --at TIME", open.entry),
            };
            let why =
                format!("work on {subject} stood still then already, since {began}: {} ({})", open.cause, open.entry);
            return Err(Refusal::new(Rule::R12, format!("note another stoppage on {subject}"), why, clears).into());
        }
        let (cause, told) = (cause.to_owned(), told.clone());
        bodies.push(Body::StoppageStarted { subject, cause, told, people });
    }
    Ok(bodies)
}

fn not_open(id: &str, why: &str, clears: &str) -> Refusal {
    Refusal::new(Rule::R12, format!("end stoppage {id}"), why, clears)
}

/// Work went on at `at`. `state` is the state of now: what was recorded later may have ended it already.
pub(super) fn end(state: &State, id: Option<&str>, note: &Option<String>, at: Moment) -> Result<Decision, DecideError> {
    let found = match id {
        Some(id) => state.stoppage(id).ok_or_else(|| {
            let open: Vec<&str> = state.open_stoppages().map(|open| open.entry.as_str()).collect();
            let hint = if open.is_empty() { "none is open".to_owned() } else { format!("open: {}", open.join(", ")) };
            DecideError::Input(format!("there is no stoppage '{}': {hint}", shortened(id)))
        })?,
        None => {
            let open: Vec<&Stoppage> = state.open_stoppages().collect();
            match open.as_slice() {
                [only] => *only,
                [] => {
                    let clears = "note one when work stops: cladlog stoppage start --cause … --told NAME";
                    return Err(Refusal::new(Rule::R12, "end a stoppage", "none is open", clears).into());
                }
                several => {
                    let each: Vec<String> =
                        several.iter().map(|one| format!("{} ({} on {})", one.entry, one.cause, one.subject)).collect();
                    return Err(DecideError::Input(format!("which stoppage is over? Give one of {}", each.join(", "))));
                }
            }
        }
    };
    let (id, today) = (found.entry.as_str(), at.date());
    if let (Some(ended), Some(by)) = (found.ended_at, &found.ended_by) {
        let why = format!("it was over at {} already", ended.clock(today));
        let clears = format!("if that is wrong, strike entry {by} and end it again");
        return Err(not_open(id, &why, &clears).into());
    }
    if at < found.started_at {
        let why = format!("it began at {}, after {}", found.started_at.clock(today), at.clock(today));
        let clears = "give a time after that; if the beginning is wrong, strike it and note it again";
        return Err(Refusal::new(Rule::R3, format!("end stoppage {id}"), why, clears).into());
    }
    let next = state
        .stoppages
        .iter()
        .find(|other| other.entry != id && other.subject == found.subject && other.started_at >= found.started_at);
    if let Some(next) = next.filter(|next| next.started_at < at) {
        let began = next.started_at.clock(today);
        let why = format!("{} stopped again at {began}: {} ({})", found.subject, next.cause, next.entry);
        return Err(not_open(id, &why, &format!("give the time it was over, {began} or before: --at TIME")).into());
    }
    Ok(vec![Body::StoppageEnded { stoppage: id.to_owned(), note: note.clone() }])
}
