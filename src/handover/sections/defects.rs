//! Every defect and how it ended, with the photos before and after.

use chrono::TimeDelta;

use crate::day::{Defect, DefectState, noted};
use crate::handover::model::{Document, Number, Photo, Picture, when};
use crate::handover::page::{Section, lines, section, some, table, text};
use crate::record::Body;

/// Where a defect stands, for pages.
pub fn status(defect: &Defect) -> &'static str {
    match defect.state {
        DefectState::Open => "open",
        DefectState::Conceded => "stands as conceded",
        DefectState::Closed => "put right",
        DefectState::Void => "void",
    }
}

/// The defects and how each ended, open ones first.
pub fn defects(document: &Document<'_>) -> Section {
    let ended = |defect: &Defect| {
        let person = |says: &str| {
            let word = noted(defect.noted_by.as_deref(), defect.grade);
            some(defect.person.as_ref().map(|person| format!("{says} {person}{word}")))
        };
        let person = match defect.state {
            DefectState::Open | DefectState::Void => String::new(),
            DefectState::Conceded => person("by"),
            DefectState::Closed => person("looked at by"),
        };
        let entry = defect.ended_by.as_ref().map(|entry| format!("entry {entry}"));
        let when: Vec<String> = defect.ended_at.as_ref().map(when).into_iter().chain(entry).collect();
        lines([status(defect).to_uppercase(), person, some(defect.how.as_ref()), when.join(", ")])
    };
    let table = table(
        "Defects and concessions, open ones first",
        &document.defects,
        &[
            ("No.", 2, &|(number, _)| Number::Defect(*number).to_string()),
            ("On", 4, &|(_, defect)| defect.subject.clone()),
            ("What was wrong", 13, &|(_, defect)| {
                lines([
                    defect.what.clone(),
                    format!("Opened {}, entry {}", when(&defect.opened_at), defect.opened_by()),
                ])
            }),
            ("How it ended", 10, &|(_, defect)| ended(defect)),
            ("Photos", 6, &|(_, defect)| photos(document, defect)),
        ],
    );
    let numbers = document.defects.iter().map(|(number, _)| Number::Defect(*number));
    let block = table.map_or_else(|| text("No defect was opened."), |table| table.with_anchors(numbers).into());
    section("defects", "Defects and concessions", vec![block])
}

/// How long before and after a photo still belongs to a defect. Common practice, no source.
const NEAR: TimeDelta = TimeDelta::hours(4);

/// The photos of the place as it was found, and as it was put right: those of the step that was out, or of no step. What a
/// person reported or refused belongs to no step: before it, only a photo of none can have been taken of it; after it, any
/// of the place may show the repair.
fn photos(document: &Document<'_>, defect: &Defect) -> String {
    let subjects = &document.state().subjects;
    let on = subjects.index(&defect.subject);
    let here = |id: &String| {
        let index = subjects.index(id);
        index == on || index.zip(on).is_some_and(|(index, on)| subjects.walls_of(index).contains(&on))
    };
    let step = document.book.entry(defect.opened_by()).and_then(|entry| match &entry.body {
        Body::StepDone(done) => Some(&done.step),
        _ => None,
    });
    let shows = |photo: &&Photo<'_>| match (step, &photo.photo.step) {
        (Some(step), Some(shown)) => shown == step,
        (None, Some(_)) => photo.photo.at > defect.opened_at,
        (_, None) => true,
    };
    let until = defect.ended_at.map_or(document.made_at, |ended| ended + NEAR);
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for photo in document.photos.iter().filter(|photo| photo.subjects.iter().any(here)).filter(shows) {
        let (at, Some(picture)) = (photo.photo.at, photo.picture) else { continue };
        if at > defect.opened_at && at <= until {
            after.push(picture);
        } else if at <= defect.opened_at && defect.opened_at - at <= NEAR {
            before.push(picture);
        }
    }
    let line = |word: &str, photos: Vec<&Picture>| match photos.as_slice() {
        [] => format!("{word}: none"),
        photos => {
            let numbers: Vec<String> = photos.iter().map(|photo| photo.label().to_string()).collect();
            format!("{word}: {}", numbers.join(", "))
        }
    };
    // What stands as conceded was never put right.
    let later = if defect.state == DefectState::Conceded { "Since" } else { "As put right" };
    let later =
        if defect.state == DefectState::Conceded && after.is_empty() { String::new() } else { line(later, after) };
    lines([line("As found", before), later])
}
