//! What was recorded and what came of it, in sentences.

use std::collections::BTreeSet;

use serde_json::Value;

use super::recorded::Recorded;
use crate::building::{SubjectIx, Subjects};
use crate::day::{Book, Mark, PLAN, Phase, State, Thing, on_words, the, window_words};
use crate::moment::Moment;
use crate::plain::{count, one_after_another};
use crate::record::{Body, EntryId};

/// What was recorded, in one line, and a line for each kind of thing that it opened or closed.
pub fn recorded_lines(recorded: &Recorded, book: &Book, now: Moment) -> Vec<String> {
    let state = &book.state;
    let mut lines = Vec::new();
    if let (Some(first), Some(last)) = (recorded.entries.first(), recorded.entries.last()) {
        let of_each: Vec<EntryId> = recorded.entries.iter().map(|entry| entry.id.clone()).collect();
        let ids = if first.id == last.id { first.id.to_string() } else { format!("{} to {}", first.id, last.id) };
        let late = if first.late { ", recorded late" } else { "" };
        let (deed, clock) = (deed(&of_each, book), first.happened_at.clock(now.date()));
        lines.push(format!("Recorded: {deed}, {clock}{late} ({ids})."));
    }
    // A window that began and was met by one command is not worth a word.
    let apart = |marks: &[Mark], others: &[Mark]| -> Vec<Mark> {
        let passing =
            |mark: &Mark| matches!(mark.thing, Thing::Window { .. }) && others.iter().any(|it| it.thing == mark.thing);
        marks.iter().filter(|mark| !passing(mark)).cloned().collect()
    };
    let (opened, closed) = (&recorded.effects.opened, &recorded.effects.closed);
    lines.extend(mark_lines(&apart(opened, closed), state, now, true));
    lines.extend(mark_lines(&apart(closed, opened), state, now, false));
    lines.extend(recorded.warnings.iter().map(|warning| format!("  Note: {}.", warning.says)));
    lines
}

/// What entries recorded, in a few words. Those of one command are of one kind, each on a subject of its own.
pub fn deed(entries: &[EntryId], book: &Book) -> String {
    let (state, sequence) = (&book.state, book.state.sequence());
    // What is to be undone comes the last first.
    let mut in_turn: Vec<&EntryId> = entries.iter().collect();
    in_turn.sort_by_key(|id| id.seq);
    let bodies: Vec<&Body> = in_turn.into_iter().filter_map(|id| Some(&book.entry(id)?.body)).collect();
    let one_kind = bodies.iter().all(|body| body.kind() == bodies[0].kind());
    let Some(first) = bodies.first().filter(|_| one_kind) else { return count(entries.len(), "entry") };
    let mut subjects: Vec<SubjectIx> = bodies.iter().filter_map(|body| state.subjects.index(body.subject())).collect();
    // Several entries may be about the same, one after the other or in turns.
    subjects.sort_unstable();
    subjects.dedup();
    // What is about a wall and what is about them all, recorded together, is about that wall.
    if subjects.len() > 1 {
        subjects.retain(|subject| *subject != Subjects::JOB);
    }
    let on = on_words(&state.subjects, &subjects);
    let on_the = if on.is_empty() { " on the job" } else { &on };
    match first {
        Body::JobAdded(it) => format!("job {} set up", it.building.key),
        Body::SequenceAdopted(_) => "newer sequence adopted".to_owned(),
        Body::JobRevised(_) => "job revised".to_owned(),
        Body::PersonAdded(it) => format!("{} added to the job", it.name),
        Body::DayOpened(_) => "site day opened".to_owned(),
        Body::DayJoined(it) => format!("{} came onto site", it.crew.join(", ")),
        Body::DayLeft(it) => format!("{} left the site", it.crew.join(", ")),
        Body::DayClosed(_) => "site day closed".to_owned(),
        Body::StepDone(_) => {
            let title = |body: &&'_ Body| {
                let Body::StepDone(it) = body else { return None };
                let step = sequence.step(&it.step).map(|step| &sequence.steps[step].title);
                Some(step.unwrap_or(&it.step).clone())
            };
            let mut steps: Vec<String> = bodies.iter().filter_map(title).collect();
            steps.dedup();
            format!("{}{on}", one_after_another(&steps))
        }
        Body::ReadingTaken(it) if it.in_words("rain") == "rain" => format!("rain{on}"),
        Body::ReadingTaken(_) => format!("reading{on}"),
        Body::ForecastAdded(_) => "forecast".to_owned(),
        Body::CautionAcknowledged(it) => {
            let title = |body: &&'_ Body| {
                let Body::CautionAcknowledged(it) = body else { return None };
                let caution = sequence.caution(&it.caution).map(|caution| &sequence.cautions[caution].title);
                Some(format!("'{}'", caution.unwrap_or(&it.caution)))
            };
            let titles: Vec<String> = bodies.iter().filter_map(title).collect();
            format!("{} read by {}", titles.join(", "), it.people.join(", "))
        }
        Body::HoldAsked(it) => format!("release of hold point {}{on} requested", it.hold),
        Body::HoldReleased(it) => format!("hold point {}{on} released by {}, {}", it.hold, it.person, it.how),
        Body::HoldRefused(it) => format!("hold point {}{on} refused by {}", it.hold, it.person),
        Body::DefectOpened(_) => format!("defect{on_the}"),
        Body::DefectClosed(it) => format!("defect closed by {}", it.person),
        Body::DefectConceded(it) => format!("concession by {}", it.person),
        Body::Struck(_) => {
            let struck: Vec<EntryId> = bodies.iter().filter_map(|body| body.acts_on().cloned()).collect();
            let struck = deed(&struck, book);
            match struck.strip_prefix("struck: ") {
                Some(restored) => format!("no longer struck: {restored}"),
                None => format!("struck: {struck}"),
            }
        }
        Body::PlanKept(it) if it.sum == PLAN => {
            let joints = it.result.get("joints").and_then(Value::as_array).map_or(0, Vec::len);
            format!("seal plan of {}", count(joints, "joint"))
        }
        Body::PlanKept(it) => format!("{} kept{on}", it.sum),
        Body::PhotoAdded(_) => match bodies.iter().flat_map(|body| body.photos()).collect::<BTreeSet<_>>().len() {
            1 => format!("photo{on_the}"),
            photos => format!("{}{on_the}", count(photos, "photo")),
        },
        Body::KeyUsed(_) => "signing key".to_owned(),
        Body::PhonePaired(it) => format!("phone of {} paired", it.person),
        Body::PhoneForgotten(it) => format!("phone of {} forgotten", it.person),
        Body::SayingConfirmed(it) => format!("confirmation of {}", it.entry),
        Body::StampTaken(it) => format!("time stamp of entry {}", it.entry),
        Body::Noted(_) => format!("note{on_the}"),
        Body::BatchDelivered(it) => format!("delivery of {} {}", it.product, it.batch),
        Body::StockTaken(it) => format!("{} {} {}{on}", it.product, it.batch, it.how.word().replace('-', " ")),
        Body::StoppageStarted(_) => format!("work stopped{on_the}"),
        Body::StoppageEnded(_) => "work resumed".to_owned(),
        Body::ExtraAdded(_) => format!("extra work{on_the}"),
        Body::Unknown { kind, .. } => kind.replace('-', " "),
    }
}

/// Marks that say the same of several subjects in one line.
fn mark_lines(marks: &[Mark], state: &State, now: Moment, opened: bool) -> Vec<String> {
    let mut groups: Vec<(String, Vec<SubjectIx>, String)> = Vec::new();
    for mark in marks {
        let Some((lead, subject, rest)) = mark_words(mark, state, now, opened) else { continue };
        match groups.iter_mut().find(|(l, _, r)| subject.is_some() && *l == lead && *r == rest) {
            Some((_, subjects, _)) => subjects.extend(subject),
            None => groups.push((lead, subject.into_iter().collect(), rest)),
        }
    }
    let line = |(lead, mut subjects, rest): (String, Vec<SubjectIx>, String)| {
        subjects.sort_unstable();
        format!("  {lead}{}{rest}", on_words(&state.subjects, &subjects))
    };
    groups.into_iter().map(line).collect()
}

/// A mark as what comes before its subject, its subject, and what comes after.
fn mark_words(mark: &Mark, state: &State, now: Moment, opened: bool) -> Option<(String, Option<SubjectIx>, String)> {
    let sequence = state.sequence();
    match &mark.thing {
        Thing::Window { window: key, subject } => {
            let window = sequence.windows.index_of(|window| window.key == *key)?;
            let title = &sequence.windows[window].title;
            let lapsed = state.run(window, *subject).filter(|run| run.phase(now) == Phase::Lapsed);
            let from = &sequence.steps[sequence.windows[window].from].title;
            let again = sequence.windows[window].redo.clone().unwrap_or_else(|| format!("Do '{from}' again"));
            Some(match (opened, lapsed) {
                (true, _) => ("Window started".into(), Some(*subject), format!(": {}", mark.says)),
                (false, Some(run)) => {
                    let words = window_words(&run, now);
                    let when = words.strip_prefix("lapsed ").unwrap_or(&words);
                    ("Lapsed".into(), Some(*subject), format!(": {title}, {when}. {again}"))
                }
                (false, None) if state.run(window, *subject).is_some_and(|run| run.answered.is_some()) => {
                    ("Window met".into(), Some(*subject), format!(": {title}"))
                }
                // Its first step was taken back: nothing was met.
                (false, None) => return None,
            })
        }
        Thing::Hold { hold, subject } => {
            // A hold point is opened by a refusal, by a strike, or because an edition brings it.
            let word = match (opened, sequence.hold(hold)) {
                (true, _) => "Held",
                (false, Some(_)) => "Released",
                (false, None) => "Dropped from the sequence",
            };
            Some((format!("{word}: hold point {hold}"), Some(*subject), String::new()))
        }
        Thing::Defect(id) => {
            let word = if opened { "opened" } else { "closed" };
            Some(match state.defect(id) {
                Some(defect) => {
                    (format!("Defect {word} on {}", the(&defect.subject)), None, format!(": {}", defect.what))
                }
                None => (format!("Defect {word}"), None, format!(": {}", mark.says)),
            })
        }
        // Whoever opens or closes a day or a stoppage says so.
        Thing::Day { .. } | Thing::Stoppage(_) => None,
    }
}
