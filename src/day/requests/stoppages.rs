//! Work stops, and resumes.

use super::context::{Context, DecideError, Decision, Request, each_spelled, in_field, input, require_text};
use crate::building::on_words;
use crate::day::facts::Stoppage;
use crate::day::state::State;
use crate::form::check_name;
use crate::record::{Body, EndStoppage, StartStoppage};
use crate::refusal::{Clears, Refusal, Rule};
use crate::units::number::shortened;

/// Most people that a crew on one job is taken to have.
const MOST_PEOPLE: u32 = 200;

impl Request for StartStoppage {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let cause = match self.cause.as_str() {
            "" if self.rain => "rain",
            "" => return in_field("cause", " is missing: a stoppage says what stopped it, or that it was rain"),
            cause => cause,
        };
        require_text("cause", cause)?;
        let state = context.state;
        let each = state.subjects.parse(&self.subject)?;
        check_names("told", &self.notified)?;
        check_people(self.people)?;
        let mut bodies = Vec::new();
        for index in each {
            let subject = state.subjects.get(index).to_string();
            if let Some(open) = state.open_stoppages().find(|open| open.subject == subject) {
                return Err(stopped_already(open, &context.book.state).into());
            }
            let (cause, notified) = (cause.to_owned(), each_spelled(state, &self.notified));
            bodies.push(Body::StoppageStarted(Self { subject, cause, notified, ..self.clone() }));
        }
        Ok(bodies.into())
    }
}

impl Request for EndStoppage {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        // What was recorded later may have ended it already.
        let (state, at) = (&context.book.state, context.at);
        let found = self.meant(state)?;
        let (id, today) = (&found.entry, at.date());
        let what = format!("end stoppage {id}");
        if let (Some(ended), Some(by)) = (found.ended_at, &found.ended_by) {
            let why = format!("it was already over at {}", ended.clock(today));
            let clears = format!("if that is wrong, strike entry {by} and end it again");
            return Err(Refusal::new(Rule::OpenDay, what, why, clears).into());
        }
        if at < found.started_at {
            let why = format!("it began at {}, after {}", found.started_at.clock(today), at.clock(today));
            let clears = "give a time after that; if the beginning is wrong, strike it and record it again";
            return Err(Refusal::new(Rule::TwoTimes, what, why, clears).into());
        }
        let later = |other: &&Stoppage| {
            other.entry != *id && other.subject == found.subject && other.started_at >= found.started_at
        };
        if let Some(next) = state.stoppages.iter().find(later).filter(|next| next.started_at < at) {
            let began = next.started_at.clock(today);
            let on = on_words(&found.subject);
            let why = format!("work{on} stopped again at {began}: {} ({})", next.cause, next.entry);
            let clears = Clears::from(format!("give the time it was over, {began} or before")).typed(": --at TIME");
            return Err(Refusal::new(Rule::OpenDay, what, why, clears).into());
        }
        Ok(Body::StoppageEnded(Self { stoppage: Some(id.clone()), note: self.note.clone() }).into())
    }
}

impl EndStoppage {
    /// The stoppage that is named, or the only open one.
    fn meant<'s>(&self, state: &'s State) -> Result<&'s Stoppage, DecideError> {
        let open: Vec<&Stoppage> = state.open_stoppages().collect();
        if let Some(id) = &self.stoppage {
            return state.stoppage(id).map_or_else(
                || {
                    let ids: Vec<String> = open.iter().map(|open| open.entry.to_string()).collect();
                    let hint =
                        if ids.is_empty() { "none is open".to_owned() } else { format!("open: {}", ids.join(", ")) };
                    input(format!("there is no stoppage '{}': {hint}", shortened(&id.to_string())))
                },
                Ok,
            );
        }
        match open.as_slice() {
            [only] => Ok(*only),
            [] => {
                let clears = Clears::from("record one when work stops").typed(": cladlog stoppage start --cause …");
                Err(Refusal::new(Rule::OpenDay, "end a stoppage", "none is open", clears).into())
            }
            several => {
                let each: Vec<String> = several
                    .iter()
                    .map(|one| format!("{} ({}{})", one.entry, one.cause, on_words(&one.subject)))
                    .collect();
                input(format!("which stoppage is over? Give one of {}", each.join(", ")))
            }
        }
    }
}

/// Work on a subject stood still then already; `now` is the state of now.
fn stopped_already(open: &Stoppage, now: &State) -> Refusal {
    let on = on_words(&open.subject);
    let clears = match now.stoppage(&open.entry).and_then(|one| one.ended_at) {
        Some(over) => Clears::from(format!("that stoppage ended on {}: give a later time", over.full())),
        None => Clears::from("end that one first").typed(&format!(": cladlog stoppage end {} --at TIME", open.entry)),
    };
    let (began, cause, entry) = (open.started_at.full(), &open.cause, &open.entry);
    let why = format!("work{on} had already stopped, on {began}: {cause} ({entry})");
    Refusal::new(Rule::OpenDay, format!("record another stoppage{on}"), why, clears)
}

/// Names of people who need not be on the job.
pub(super) fn check_names(field: &'static str, names: &[String]) -> Result<(), DecideError> {
    names.iter().try_for_each(|name| check_name(name).or_else(|why| in_field(field, format!(": the name {why}"))))
}

/// A number of people that can be taken for true.
pub(super) fn check_people(people: Option<u32>) -> Result<(), DecideError> {
    match people.filter(|people| !(1..=MOST_PEOPLE).contains(people)) {
        Some(people) => in_field("people", format!(" {people} is outside 1 to {MOST_PEOPLE}")),
        None => Ok(()),
    }
}
