//! Steps, measurements, readings, windows, hold points, defects, entries, hours, cautions and photos.

use super::{heading, number, or_empty, time, yes};
use crate::handover::model::{Answered, Document};

pub fn steps(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["entry", "happened_at", "by", "subject", "step", "title", "late", "anyway"]);
    rows.extend(document.steps.iter().map(|step| {
        vec![
            step.entry.clone(),
            step.at.to_string(),
            step.by.clone(),
            step.subject.clone(),
            step.step.clone(),
            step.title.clone(),
            yes(step.late),
            or_empty(&step.anyway),
        ]
    }));
    rows
}

/// Every answer, measured or said.
pub fn measurements(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "entry",
        "happened_at",
        "subject",
        "step",
        "ask",
        "question",
        "value",
        "unit",
        "answer",
        "allowed",
        "within_tolerance",
        "basis",
        "defect",
        "file_sha256",
    ]);
    let basis = |answer: &Answered| {
        let line = answer.basis.and_then(|number| document.bases.get(number.checked_sub(1)?));
        line.cloned().unwrap_or_default()
    };
    for step in &document.steps {
        rows.extend(step.answers.iter().map(|answer| {
            vec![
                step.entry.clone(),
                step.at.to_string(),
                step.subject.clone(),
                step.step.clone(),
                answer.ask.clone(),
                answer.prompt.clone(),
                answer.value.map(number).unwrap_or_default(),
                answer.unit.to_owned(),
                answer.answer.clone(),
                answer.allowed.clone(),
                answer.within.map(yes).unwrap_or_default(),
                basis(answer),
                or_empty(&answer.defect),
                or_empty(&answer.sha256),
            ]
        }));
    }
    rows
}

pub fn readings(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "entry",
        "happened_at",
        "wall",
        "air_c",
        "humidity_pct",
        "surface_c",
        "dew_point_c",
        "wind_kmh",
        "rain",
    ]);
    rows.extend(document.readings.iter().map(|reading| {
        vec![
            reading.entry.clone(),
            reading.at.to_string(),
            reading.subject.clone(),
            number(reading.air_c),
            number(reading.humidity_pct),
            number(reading.surface_c),
            reading.dew_point_c.map(number).unwrap_or_default(),
            reading.wind_kmh.map(number).unwrap_or_default(),
            yes(reading.rain),
        ]
    }));
    rows
}

pub fn windows(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "window",
        "title",
        "subject",
        "from_entry",
        "began_at",
        "opens_at",
        "closes_at",
        "answered_at",
        "to_entry",
        "spoiled_at",
        "state",
        "says",
        "basis",
    ]);
    rows.extend(document.windows.iter().map(|window| {
        vec![
            window.key.clone(),
            window.title.clone(),
            window.subject.clone(),
            window.from_entry.clone(),
            window.began_at.to_string(),
            window.opens_at.to_string(),
            time(&window.closes_at),
            time(&window.answered_at),
            or_empty(&window.to_entry),
            time(&window.spoiled_at),
            window.state.to_owned(),
            window.says.clone(),
            window.basis.checked_sub(1).and_then(|at| document.bases.get(at)).cloned().unwrap_or_default(),
        ]
    }));
    rows
}

pub fn holds(document: &Document) -> Vec<Vec<String>> {
    let mut rows =
        heading(&["hold", "title", "subject", "state", "person", "role", "at", "how", "evidence", "asked_at", "entry"]);
    rows.extend(document.holds.iter().map(|hold| {
        vec![
            hold.key.clone(),
            hold.title.clone(),
            hold.subject.clone(),
            hold.state.to_owned(),
            or_empty(&hold.person),
            or_empty(&hold.role),
            time(&hold.at),
            or_empty(&hold.how),
            or_empty(&hold.evidence),
            time(&hold.asked_at),
            or_empty(&hold.entry),
        ]
    }));
    rows
}

pub fn defects(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "number",
        "id",
        "subject",
        "rule",
        "what",
        "state",
        "opened_by",
        "opened_at",
        "how",
        "person",
        "ended_at",
        "ended_by",
    ]);
    rows.extend(document.defects.iter().map(|defect| {
        vec![
            defect.number.to_string(),
            defect.id.clone(),
            defect.subject.clone(),
            or_empty(&defect.rule),
            defect.what.clone(),
            defect.state.to_owned(),
            defect.opened_by.clone(),
            defect.opened_at.to_string(),
            or_empty(&defect.how),
            or_empty(&defect.person),
            time(&defect.ended_at),
            or_empty(&defect.ended_by),
        ]
    }));
    rows
}

pub fn entries(document: &Document) -> Vec<Vec<String>> {
    let mut rows =
        heading(&["id", "happened_at", "recorded_at", "by", "kind", "subject", "what", "late", "struck_by", "hash"]);
    rows.extend(document.log.iter().map(|entry| {
        vec![
            entry.id.clone(),
            entry.happened_at.to_string(),
            entry.recorded_at.to_string(),
            entry.by.clone(),
            entry.kind.clone(),
            entry.subject.clone(),
            entry.what.clone(),
            yes(entry.late),
            or_empty(&entry.struck_by),
            entry.hash.clone(),
        ]
    }));
    rows
}

pub fn hours(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["date", "person", "since", "hours"]);
    for day in &document.days {
        rows.extend(day.crew.iter().map(|person| {
            vec![
                day.date.clone(),
                person.name.clone(),
                person.since.to_string(),
                person.hours.map(number).unwrap_or_default(),
            ]
        }));
    }
    rows
}

pub fn cautions(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["date", "caution", "title", "person", "acknowledged_at"]);
    rows.extend(document.cautions.iter().map(|one| {
        vec![one.date.clone(), one.caution.clone(), one.title.clone(), one.person.clone(), one.at.to_string()]
    }));
    rows
}

/// The table of photos.
pub fn photos(document: &Document) -> Vec<Vec<String>> {
    let mut heading =
        vec!["number", "entries", "subjects", "step", "happened_at", "taken_at", "file", "stands", "path"];
    heading.extend(["sha256", "copy_sha256", "flags", "note"]);
    if !document.no_places {
        heading.extend(["lat_deg", "lon_deg", "direction_deg", "north"]);
    }
    let mut rows = vec![heading.into_iter().map(str::to_owned).collect()];
    for photo in &document.photos {
        let or_empty = |text: &Option<String>| text.clone().unwrap_or_default();
        let mut row = vec![
            photo.number.map(|number| number.to_string()).unwrap_or_default(),
            photo.entries.join(" "),
            photo.subjects.join(" "),
            or_empty(&photo.step),
            photo.at.to_string(),
            photo.taken_at.map(|at| at.to_string()).unwrap_or_default(),
            photo.file.clone(),
            photo.stands.to_owned(),
            or_empty(&photo.path),
            photo.sha256.clone(),
            or_empty(&photo.copy_sha256),
            photo.flags.join("; "),
            or_empty(&photo.note),
        ];
        if !document.no_places {
            row.push(photo.place.map(|place| place.lat_deg.to_string()).unwrap_or_default());
            row.push(photo.place.map(|place| place.lon_deg.to_string()).unwrap_or_default());
            row.push(photo.direction.map(|direction| direction.deg.to_string()).unwrap_or_default());
            let north = photo.direction.map(|direction| if direction.magnetic { "magnetic" } else { "true" });
            row.push(north.unwrap_or_default().to_owned());
        }
        rows.push(row);
    }
    rows
}
