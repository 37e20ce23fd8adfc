//! Steps with their answers, and the runs of windows.

use std::collections::HashMap;

use crate::day::{Book, Done, Run, State};
use crate::handover::model::{Outcome, Step, WindowRun, clock_on, ends_on, part_of, part_of_id, when};
use crate::moment::{Moment, span};
use crate::record::{Body, EntryId};

/// Every step done, in the order in which it happened, with the answers as they were judged.
pub fn steps(book: &Book) -> Vec<Step<'_>> {
    let state = &book.state;
    let mut judged: HashMap<&EntryId, &Done> = HashMap::new();
    for step in state.sequence().steps.indexes() {
        for subject in state.subjects.indexes() {
            judged.extend(state.done(step, subject).iter().map(|done| (&done.entry, done)));
        }
    }
    let mut steps = Vec::new();
    for entry in book.in_time() {
        let Body::StepDone(done) = &entry.body else { continue };
        steps.push(Step {
            entry,
            done,
            part: part_of_id(state, &done.subject),
            title: step_title(state, &done.step).unwrap_or(&done.step),
            answers: judged.get(&entry.id()).map_or(&[], |found| &found.answers),
        });
    }
    steps
}

/// The title of a step, in the last edition of the sequence that has it.
pub fn step_title<'s>(state: &'s State, key: &str) -> Option<&'s str> {
    state.editions.iter().rev().find_map(|edition| Some(edition.steps[edition.step(key)?].title.as_str()))
}

/// Every run of every window.
pub fn windows(state: &State, now: Moment) -> Vec<WindowRun<'_>> {
    let mut windows = Vec::new();
    for window in state.sequence().windows.indexes() {
        for (index, subject) in state.subjects.all().indexed() {
            let mut runs = state.runs_of(window, index).into_iter().peekable();
            while let Some(run) = runs.next() {
                let (outcome, says) = outcome(&run, runs.peek().map(|next| next.from.at), now);
                windows.push(WindowRun { run, part: part_of(subject), subject: subject.to_string(), outcome, says });
            }
        }
    }
    windows
}

/// How a run ended, and the same in words. `again` is when the next run began.
fn outcome(run: &Run<'_>, again: Option<Moment>, now: Moment) -> (Outcome, String) {
    let began = run.began;
    let spoiled = run.spoiled.map(|it| format!("{} at {}", it.by, clock_on(&it.at, &began)));
    if let Some(done) = run.answered {
        return if done.began < run.opens_at {
            (Outcome::Early, format!("begun {} too early", span(run.opens_at - done.began)))
        } else if let Some(spoiled) = spoiled {
            (Outcome::Late, format!("done after it had lapsed: {spoiled}"))
        } else if let Some(closes) = run.closes_at.filter(|closes| *closes < done.at) {
            (Outcome::Late, format!("done {} too late", span(done.at - closes)))
        } else if let Some((_, until)) = run.handed_on(done) {
            (Outcome::HandedOn, format!("left to others, who have until {}", ends_on(&until, &began, &began)))
        } else if done.began < done.at {
            let (begun, ended) = (span(done.began - began), span(done.at - began));
            (Outcome::Met, format!("met: begun after {begun}, done after {ended}"))
        } else {
            (Outcome::Met, format!("met after {}", span(done.at - began)))
        };
    }
    let until = again.map_or(now, |again| again.min(now));
    let then = again.map(|at| format!("; started again {}", clock_on(&at, &began))).unwrap_or_default();
    if run.lapsed(until).is_some() {
        let why = spoiled.unwrap_or_else(|| "closed unused".to_owned());
        return (Outcome::Lapsed, format!("lapsed: {why}{then}"));
    }
    if again.is_some() {
        return (Outcome::Again, format!("not used{then}"));
    }
    let says = match run.closes_at {
        _ if now < run.opens_at => format!("running: opens {}", when(&run.opens_at)),
        Some(closes) => format!("running: closes {}", when(&closes)),
        None => "running: open".to_owned(),
    };
    (Outcome::Running, says)
}
