//! Photos of the record: what each shows, and what about it a reader should know.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use crate::day::book::Book;
use crate::day::facts::Done;
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::photos::PhotoFacts;
use crate::record::{Answer, Body, Entry, EntryId};
use crate::table::{Cell, Column, Row};

/// A photo of a step is taken no earlier than this before the step was done. Common practice, no source.
const EARLIEST: TimeDelta = TimeDelta::hours(4);

/// And no later than this after it: cameras and clocks differ by a little. Common practice, no source.
const LATEST: TimeDelta = TimeDelta::minutes(15);

/// A photo, where the record uses it.
#[derive(Debug, Clone)]
pub struct PhotoUse {
    /// The entry that names it.
    pub entry: EntryId,
    /// Id of the subject.
    pub subject: String,
    /// Key of the step that it shows, where it shows one.
    pub step: Option<String>,
    /// When that was done; without a step, when the photo was recorded as happening.
    pub at: Moment,
    /// Its name when it was recorded.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// What was kept of it; absent in records whose photos were named only.
    pub facts: Option<PhotoFacts>,
    /// What was said about it.
    pub note: Option<String>,
    /// What a reader should know about it.
    pub flags: Vec<String>,
}

impl Row for PhotoUse {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "entry", title: "Entry", cell: |it| Cell::text(it.entry.to_string()) },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "step", title: "Step", cell: |it| it.step.as_ref().into() },
        Column { key: "at", title: "When", cell: |it| it.at.into() },
        Column {
            key: "taken_at",
            title: "Taken",
            cell: |it| it.facts.as_ref().and_then(|facts| facts.taken_at).into(),
        },
        Column { key: "file", title: "File", cell: |it| (&it.file).into() },
        Column { key: "sha256", title: "SHA-256", cell: |it| (&it.sha256).into() },
        Column { key: "note", title: "Note", cell: |it| it.note.as_ref().into() },
        Column { key: "flags", title: "Notes", cell: |it| it.flags.clone().into() },
    ];
}

/// Every photo of the record that is not struck, in the order in which things happened.
pub fn photos(book: &Book) -> Vec<PhotoUse> {
    let state = &book.state;
    let mut uses: Vec<(PhotoUse, &Entry)> = Vec::new();
    for entry in book.in_time() {
        let (id, at) = (entry.id(), entry.happened_at);
        match &entry.body {
            Body::StepDone(it) => {
                let (subject, step) = (it.subject.clone(), Some(it.step.clone()));
                for answer in it.answers.values() {
                    let Answer::File { file, sha256, photo } = answer else { continue };
                    let photo = PhotoUse {
                        entry: id.clone(),
                        subject: subject.clone(),
                        step: step.clone(),
                        at,
                        file: file.clone(),
                        sha256: sha256.clone(),
                        facts: photo.as_deref().cloned(),
                        note: None,
                        flags: Vec::new(),
                    };
                    uses.push((photo, entry));
                }
            }
            Body::PhotoAdded(it) => {
                let done = it.step.as_ref().and_then(|step| nearest_done(state, step, &it.subject, at));
                let photo = PhotoUse {
                    entry: id,
                    subject: it.subject.clone(),
                    step: it.step.clone(),
                    at: done.map_or(at, |done| done.at),
                    file: it.file.clone(),
                    sha256: it.sha256.clone(),
                    facts: Some(it.photo.clone()),
                    note: it.note.clone(),
                    flags: Vec::new(),
                };
                uses.push((photo, entry));
            }
            _ => {}
        }
    }
    flag(state, &mut uses);
    uses.into_iter().map(|(photo, _)| photo).collect()
}

/// Whether an entry names a photo.
pub fn names_photo(body: &Body) -> bool {
    match body {
        Body::PhotoAdded(_) => true,
        Body::StepDone(it) => it.answers.values().any(|answer| matches!(answer, Answer::File { .. })),
        _ => false,
    }
}

/// The time that a step was done on a subject which lies nearest to a moment.
fn nearest_done<'s>(state: &'s State, step: &str, subject: &str, at: Moment) -> Option<&'s Done> {
    let (step, subject) = (state.sequence().step(step)?, state.subjects.index(subject)?);
    state.done(step, subject).iter().min_by_key(|done| (done.at - at).abs())
}

/// Says of each what a reader should know.
fn flag(state: &State, uses: &mut [(PhotoUse, &Entry)]) {
    // One record of several subjects is one use of its photo.
    let record = |photo: &PhotoUse, entry: &Entry| (photo.step.clone(), entry.happened_at, entry.recorded_at);
    let mut used: BTreeMap<String, Vec<(_, EntryId, String)>> = BTreeMap::new();
    for (photo, entry) in uses.iter() {
        let one = (record(photo, entry), photo.entry.clone(), photo.subject.clone());
        used.entry(photo.sha256.clone()).or_default().push(one);
    }
    for (photo, entry) in uses.iter_mut() {
        let mut flags = Vec::new();
        if let Some(facts) = &photo.facts {
            match facts.taken_at {
                None => flags.push("the camera gives no time".to_owned()),
                Some(taken) => flags.extend(out_of_time(state, photo, entry, taken)),
            }
        }
        let own = record(photo, entry);
        let mut others: Vec<String> = Vec::new();
        for (other, id, subject) in used.get(&photo.sha256).into_iter().flatten() {
            let apart = *other != own || *subject == photo.subject;
            if apart && *id != photo.entry && others.len() < 3 {
                others.push(id.to_string());
            }
        }
        if !others.is_empty() {
            flags.push(format!("the same photo is also in entry {}", others.join(", ")));
        }
        photo.flags = flags;
    }
}

/// A photo shows a step when it was taken about when the step was done, and not before what comes first.
fn out_of_time(state: &State, photo: &PhotoUse, entry: &Entry, taken: Moment) -> Option<String> {
    let taken = taken.at_offset(photo.at.offset());
    let when = taken.clock(photo.at.date());
    if taken - entry.recorded_at > LATEST {
        return Some(format!("taken {when} by the camera, which is after it was recorded: its clock is wrong"));
    }
    let step = state.sequence().step(photo.step.as_ref()?)?;
    let subject = state.subjects.index(&photo.subject)?;
    if taken - photo.at > LATEST {
        return Some(format!("taken {when}, {} after the step", span(taken - photo.at)));
    }
    let sequence = state.sequence();
    let before = sequence.steps[step].after.iter().flat_map(|before| {
        state.related_of(*before, subject).filter_map(move |other| {
            let done = state.done(*before, other).iter().rev().find(|done| done.at <= photo.at)?;
            Some((done.at, *before, other))
        })
    });
    // Of all that it can't show yet, what comes first in the sequence says best what it does show; on the subject itself,
    // before what is around it.
    let lacking =
        before.filter(|(at, ..)| taken < *at).min_by_key(|(_, step, other)| (*other != subject, *step, *other));
    if let Some((at, before, on)) = lacking {
        let at = at.at_offset(photo.at.offset()).clock(photo.at.date());
        let (title, on) = (&sequence.steps[before].title, state.subjects.get(on));
        return Some(format!("taken {when}, before '{title}' on {on} ({at})"));
    }
    let early = photo.at - taken;
    (early > EARLIEST).then(|| format!("taken {when}, {} before the step", span(early)))
}

/// Notes on the photos of some entries, when they are recorded: a line each. Every photo of the record is looked at: ask
/// [`names_photo`] first.
pub fn photo_notes(book: &Book, ids: &[EntryId]) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    for photo in photos(book).into_iter().filter(|photo| ids.contains(&photo.entry)) {
        for flag in photo.flags {
            let note = format!("{}: {flag}", photo.file);
            if !notes.contains(&note) {
                notes.push(note);
            }
        }
    }
    notes
}
