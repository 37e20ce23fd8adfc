//! Every defect and how it ended, with the photos before and after.

use chrono::TimeDelta;

use crate::day::{Defect, DefectState};
use crate::handover::model::{Document, when};
use crate::handover::page::{Section, lines, section, some, table_or};

/// The defects and how each ended, open ones first.
pub fn defects(document: &Document<'_>) -> Section {
    let ended = |defect: &Defect| {
        let person = |says: &str| some(defect.person.as_ref().map(|person| format!("{says} {person}")));
        let state = match defect.state {
            DefectState::Open => "OPEN".to_owned(),
            DefectState::Conceded => lines(["MAY STAND".to_owned(), person("as accepted by")]),
            DefectState::Closed => lines(["PUT RIGHT".to_owned(), person("looked at by")]),
            DefectState::Void => "VOID".to_owned(),
        };
        let entry = defect.ended_by.as_ref().map(|entry| format!("entry {entry}"));
        let when: Vec<String> = defect.ended_at.as_ref().map(when).into_iter().chain(entry).collect();
        lines([state, some(defect.how.as_ref()), when.join(", ")])
    };
    let table = table_or(
        "No defect was opened.",
        "Defects and concessions, open ones first",
        &document.defects,
        &[
            ("No.", 2, &|(number, _)| number.to_string()),
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
    section("defects", "Defects and concessions", vec![table])
}

/// How long before and after a photo still belongs to a defect. Common practice, no source.
const NEAR: TimeDelta = TimeDelta::hours(4);

/// The photos of the place as it was found, and as it was put right.
fn photos(document: &Document<'_>, defect: &Defect) -> String {
    let subjects = &document.state().subjects;
    let on = subjects.index(&defect.subject);
    let here = |id: &String| {
        let index = subjects.index(id);
        index == on || index.zip(on).is_some_and(|(index, on)| subjects.walls_of(index).contains(&on))
    };
    let until = defect.ended_at.map_or(document.made_at, |ended| ended + NEAR);
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for photo in document.photos.iter().filter(|photo| photo.subjects.iter().any(here)) {
        let (at, Some(picture)) = (photo.photo.at, photo.picture) else { continue };
        if at > defect.opened_at && at <= until {
            after.push(picture.number.to_string());
        } else if at <= defect.opened_at && defect.opened_at - at <= NEAR {
            before.push(picture.number.to_string());
        }
    }
    let line = |word: &str, numbers: Vec<String>| match numbers.as_slice() {
        [] => format!("{word}: none"),
        numbers => format!("{word}: {}", numbers.join(", ")),
    };
    lines([line("As found", before), line("As put right", after)])
}
