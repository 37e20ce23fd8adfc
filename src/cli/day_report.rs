//! The evening: what became of the day, and what the night and tomorrow hold.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeZone};
use serde::Serialize;

use super::commands::stoppage::standing;
use crate::building::SubjectKind;
use crate::day::{Book, Phase, State, next, replay};
use crate::moment::{Moment, clock};
use crate::record::Body;

/// A day in the record.
#[derive(Debug, Serialize)]
pub struct DayReport {
    /// The day.
    pub date: NaiveDate,
    /// The job.
    pub job: String,
    /// Who was on site, and the hours each worked, when the day was closed.
    pub crew: Vec<Worked>,
    /// The pre-start talk.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// Hazards.
    pub hazards: Vec<String>,
    /// What was done, step by step.
    pub done: Vec<StepOfDay>,
    /// Everything else that was recorded, in words.
    pub also: Vec<String>,
    /// Defects opened on that day, in words.
    pub defects: Vec<String>,
    /// What of the materials was running out or going off at the end of that day, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stock: Vec<String>,
}

/// One person's day.
#[derive(Debug, Serialize)]
pub struct Worked {
    /// Name.
    pub name: String,
    /// Hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// A step of the day, with the subjects it was done on.
#[derive(Debug, Serialize)]
pub struct StepOfDay {
    /// Key of the step.
    pub step: String,
    /// Its title.
    pub title: String,
    /// The subjects, written short.
    pub on: String,
}

/// What the record says of a day.
pub fn of(book: &Book, date: NaiveDate) -> DayReport {
    let state = &book.state;
    let mut steps: Vec<(String, Vec<usize>)> = Vec::new();
    let mut also = Vec::new();
    for entry in &book.entries {
        if entry.happened_at.date_naive() != date || state.struck.contains_key(&entry.id()) {
            continue;
        }
        match &entry.body {
            Body::StepDone { step, subject, .. } => {
                let index = state.subjects.index(subject).unwrap_or(0);
                match steps.iter_mut().find(|(key, _)| key == step) {
                    Some((_, on)) if on.contains(&index) => {}
                    Some((_, on)) => on.push(index),
                    None => steps.push((step.clone(), vec![index])),
                }
            }
            Body::DayOpened { .. } | Body::DayClosed { .. } | Body::CautionAcknowledged { .. } => {}
            other => also.push(format!("{} {}", entry.happened_at.format("%H:%M"), other.in_words())),
        }
    }
    let days: Vec<_> = state.days.iter().filter(|day| day.date == date).collect();
    let mut crew: BTreeMap<String, Option<f64>> = BTreeMap::new();
    for day in &days {
        for (name, _) in &day.crew {
            let hours = day.hours.get(name).copied();
            let sum = crew.entry(name.clone()).or_default();
            *sum = match (*sum, hours) {
                (Some(a), Some(b)) => Some(a + b),
                (a, b) => a.or(b),
            };
        }
    }
    DayReport {
        date,
        job: state.job.name.clone(),
        crew: crew.into_iter().map(|(name, hours)| Worked { name, hours }).collect(),
        talk: days.iter().find_map(|day| day.talk.clone()),
        hazards: days.iter().flat_map(|day| day.hazards.clone()).collect(),
        done: steps
            .into_iter()
            .map(|(key, on)| StepOfDay {
                title: state
                    .sequence()
                    .step(&key)
                    .map_or(key.clone(), |step| state.sequence().steps[step].title.clone()),
                on: state.subjects.shortly(&on),
                step: key,
            })
            .collect(),
        also,
        defects: state
            .defects
            .iter()
            .filter(|defect| defect.opened_at.date_naive() == date)
            .map(|defect| format!("{} on {} ({}): {}", defect.id, defect.subject, defect.state.word(), defect.what))
            .collect(),
        stock: stock_at_end(book, date),
    }
}

/// The materials as they stood when that day ended.
fn stock_at_end(book: &Book, date: NaiveDate) -> Vec<String> {
    let zone = book.state.job.time_zone;
    let end = date.and_hms_opt(23, 59, 59).and_then(|end| zone.from_local_datetime(&end).latest());
    let Some(end) = end.map(|end| end.fixed_offset()) else { return Vec::new() };
    replay(&book.entries, Some(end)).map(|state| ahead(&state, end)).unwrap_or_default()
}

/// What of the materials is running out or going off: what somebody can still do something about.
pub fn ahead(state: &State, now: Moment) -> Vec<String> {
    state.stock_flags(now).into_iter().filter(|flag| flag.sort.is_ahead()).map(|flag| flag.says).collect()
}

impl DayReport {
    /// The report as text.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!("{}, {}", self.job, self.date.format("%A %-d %B %Y")), String::new()];
        let crew: Vec<String> = self
            .crew
            .iter()
            .map(|worked| match worked.hours {
                Some(hours) => format!("{} {} h", worked.name, crate::units::number::show(hours)),
                None => worked.name.clone(),
            })
            .collect();
        lines.push(format!("On site: {}", if crew.is_empty() { "nobody".into() } else { crew.join(", ") }));
        if let Some(talk) = &self.talk {
            lines.push(format!("Talk: {talk}"));
        }
        lines.extend(self.hazards.iter().map(|hazard| format!("Hazard: {hazard}")));
        lines.push(String::new());
        lines.push("Done:".into());
        lines.extend(self.done.iter().map(|step| format!("  {} — {}", step.title, step.on)));
        if self.done.is_empty() {
            lines.push("  nothing".into());
        }
        for (word, list) in [("Also:", &self.also), ("Defects:", &self.defects), ("Materials:", &self.stock)] {
            if !list.is_empty() {
                lines.push(word.into());
                lines.extend(list.iter().map(|line| format!("  {line}")));
            }
        }
        lines
    }
}

/// What is said when the day is closed: windows that lapse overnight, edges left open to rain, tomorrow.
pub fn evening(state: &State, now: Moment) -> Vec<String> {
    let mut lines = Vec::new();
    let today = now.date_naive();
    lines.extend(state.open_stoppages().map(|stoppage| standing(stoppage, now)));
    let lapsing: Vec<String> = state
        .runs()
        .iter()
        .filter(|run| !matches!(run.phase(now), Phase::Lapsed | Phase::Met))
        .filter_map(|run| {
            let closes = run.closes_at?;
            // Nobody is on site again before tomorrow morning.
            let morning = now + chrono::TimeDelta::hours(16);
            (closes <= morning).then(|| {
                format!(
                    "  {} on {} closes {}",
                    run.window.title,
                    state.subjects.get(run.subject),
                    clock(&closes, today)
                )
            })
        })
        .collect();
    if !lapsing.is_empty() {
        lines.push("Will lapse before anybody is back:".into());
        lines.extend(lapsing);
    }
    let edges = open_edges(state, now);
    if !edges.is_empty() {
        lines.push("Left open to rain:".into());
        lines.extend(edges.into_iter().map(|edge| format!("  {edge}")));
    }
    let materials = ahead(state, now);
    if !materials.is_empty() {
        lines.push("Materials:".into());
        lines.extend(materials.into_iter().map(|line| format!("  {line}")));
    }
    let ahead: Vec<String> = next(state, now)
        .iter()
        .filter(|action| action.ready || action.rule == Some(crate::refusal::Rule::R12))
        .take(5)
        .map(|action| {
            format!("  {} on {}", state.sequence().steps[action.step].title, state.subjects.get(action.subject))
        })
        .collect();
    if !ahead.is_empty() {
        lines.push("First thing tomorrow:".into());
        lines.extend(ahead);
    }
    lines
}

/// Walls that are part clad: the edge above the last course, and joints not sealed.
fn open_edges(state: &State, now: Moment) -> Vec<String> {
    let sequence = state.sequence();
    let of_kind = |kind: SubjectKind| -> Vec<usize> {
        (0..sequence.steps.len()).filter(|step| sequence.steps[*step].on == kind).collect()
    };
    let (on_courses, on_joints) = (of_kind(SubjectKind::Course), of_kind(SubjectKind::Joint));
    let mut edges = Vec::new();
    for wall in state.walls() {
        let courses = state.subjects.related(wall, SubjectKind::Course);
        let hung = |course: usize| on_courses.iter().any(|step| !state.done(*step, course).is_empty());
        let up = courses.iter().filter(|course| hung(**course)).count();
        if up == 0 {
            continue;
        }
        if up < courses.len() {
            edges.push(format!("{}: the edge above course {up} of {}", state.subjects.get(wall), courses.len()));
        }
        let joints: Vec<usize> = state
            .subjects
            .related(wall, SubjectKind::Joint)
            .iter()
            .copied()
            .filter(|joint| on_joints.iter().any(|s| state.asked_of(*s, *joint) && !state.complete(*s, *joint, now)))
            .collect();
        if !joints.is_empty() {
            edges.push(format!("joints not finished: {}", state.subjects.shortly(&joints)));
        }
    }
    edges
}
