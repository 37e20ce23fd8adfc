//! Each wall, the whole building and the corners: steps, measurements, windows and site conditions.

use std::collections::BTreeSet;

use super::{photos, sealing};
use crate::handover::model::{Answered, Document, Part, ReadingTold, StepTold, WindowTold, clock_on, when};
use crate::handover::page::{Block, Section, lines, set_out_name, shortly, table, text};
use crate::units::number::show;

/// A section for each wall, then the whole building, then the corners together.
pub fn parts(document: &Document) -> Vec<Section> {
    let walls = document.parts.iter().filter(|part| part.wall.is_some());
    let others = document.parts.iter().filter(|part| part.wall.is_none());
    walls.chain(others).map(|part| section(document, part)).collect()
}

pub fn section(document: &Document, part: &Part) -> Section {
    let steps: Vec<&StepTold> = document.steps.iter().filter(|step| step.part == part.key).collect();
    let windows: Vec<&WindowTold> = document.windows.iter().filter(|window| window.part == part.key).collect();
    let readings: Vec<&ReadingTold> = document.readings.iter().filter(|reading| reading.subject == part.key).collect();
    let mut bases: BTreeSet<usize> = windows.iter().map(|window| window.basis).collect();
    bases.extend(steps.iter().flat_map(|step| &step.answers).filter_map(|answer| answer.basis));
    let mut blocks = Vec::new();
    if part.wall.is_some() {
        blocks.push(Block::Drawing { name: part.key.clone() });
    }
    if part.set_out.is_some() {
        blocks.push(Block::Drawing { name: set_out_name(&part.key) });
    }
    let open: Vec<String> = document
        .defects
        .iter()
        .filter(|defect| defect.part == part.key && defect.state == "open")
        .map(|defect| format!("Open defect {} on {}: {}", defect.number, defect.subject, defect.what))
        .collect();
    if !open.is_empty() {
        blocks.push(Block::Note { text: crate::plain::visible(&open.join("\n")) });
    }
    blocks.push(steps_table(&steps));
    blocks.extend(photos::block(document, &part.key));
    if let Some(measured) = measured(&steps) {
        blocks.push(measured);
    }
    if !windows.is_empty() {
        blocks.push(clocks(&windows));
    }
    blocks.extend(sealing::joints_of(document, &part.key));
    if !readings.is_empty() {
        blocks.push(conditions(&readings));
    }
    let named: Vec<String> = bases
        .iter()
        .filter_map(|number| document.bases.get(number.checked_sub(1)?).map(|line| format!("B{number}: {line}")))
        .collect();
    if !named.is_empty() {
        blocks.push(text("What the tolerances and times rest on:"));
        blocks.push(Block::List { items: named });
    }
    Section { id: format!("part-{}", part.key), title: part.title.clone(), blocks }
}

/// Steps alike in everything but the subject, recorded at once: told in one row.
pub fn alike<'d>(steps: &[&'d StepTold]) -> Vec<(&'d StepTold, Vec<&'d str>, Vec<&'d str>)> {
    let mut rows: Vec<(&StepTold, Vec<&str>, Vec<&str>)> = Vec::new();
    for step in steps {
        let same = |other: &StepTold| {
            other.step == step.step
                && other.at == step.at
                && other.by == step.by
                && other.late == step.late
                && other.anyway == step.anyway
                && other.answers == step.answers
        };
        match rows.iter_mut().rev().take(6).find(|(other, _, _)| same(other)) {
            Some((_, subjects, entries)) => {
                subjects.push(&step.subject);
                entries.push(&step.entry);
            }
            None => rows.push((step, vec![&step.subject], vec![&step.entry])),
        }
    }
    rows
}

pub fn entries(ids: &[&str]) -> String {
    match ids {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first, .., last] => {
            let number = last.rsplit_once('-').map_or(*last, |(_, number)| number);
            format!("{first} to {number}")
        }
    }
}

pub fn steps_table(steps: &[&StepTold]) -> Block {
    let rows = alike(steps)
        .into_iter()
        .map(|(step, subjects, ids)| {
            let said = |answer: &Answered| {
                let out = if answer.within == Some(false) { " (OUT)" } else { "" };
                format!("{} {}{out}", ended(&answer.prompt), answer.answer)
            };
            let mut what = vec![step.title.clone()];
            what.extend(step.answers.iter().map(said));
            what.extend(step.anyway.iter().map(|why| format!("RECORDED ANYWAY, although a rule stopped it: {why}")));
            let late = if step.late { "recorded late" } else { "" };
            vec![
                lines([when(&step.at), late.to_owned()]),
                shortly(&subjects),
                what.join("\n"),
                lines([step.by.clone(), entries(&ids)]),
            ]
        })
        .collect();
    let columns = [("When", 6), ("On", 5), ("What was done and answered", 15), ("By, entry", 6)];
    table("Steps done", &columns, rows, "Nothing is recorded here yet.")
}

/// A prompt with a mark at its end.
pub fn ended(prompt: &str) -> String {
    if prompt.ends_with(['?', ':', '.']) { prompt.to_owned() } else { format!("{prompt}:") }
}

pub fn measured(steps: &[&StepTold]) -> Option<Block> {
    let mut rows = Vec::new();
    for (step, subjects, _) in alike(steps) {
        for answer in step.answers.iter().filter(|answer| answer.value.is_some()) {
            let result = match answer.within {
                Some(true) => "in",
                Some(false) => "OUT",
                None => "",
            };
            rows.push(vec![
                when(&step.at),
                shortly(&subjects),
                format!("{}: {}", step.title, answer.prompt),
                answer.answer.clone(),
                answer.allowed.clone(),
                lines([result.to_owned(), answer.defect.clone().unwrap_or_default()]),
                answer.basis.map(|number| format!("B{number}")).unwrap_or_default(),
            ]);
        }
    }
    let columns =
        [("When", 3), ("On", 2), ("What was measured", 5), ("Read", 2), ("Allowed", 2), ("Result", 2), ("Basis", 1)];
    (!rows.is_empty()).then(|| table("Measurements", &columns, rows, ""))
}

pub fn clocks(windows: &[&WindowTold]) -> Block {
    let mut sorted: Vec<&&WindowTold> = windows.iter().collect();
    sorted.sort_by_key(|window| window.began_at);
    let rows = sorted
        .into_iter()
        .map(|window| {
            let day = &window.began_at;
            vec![
                window.subject.clone(),
                window.title.clone(),
                when(day),
                clock_on(&window.opens_at, day),
                window.closes_at.as_ref().map(|at| clock_on(at, day)).unwrap_or_default(),
                window.answered_at.as_ref().map(|at| clock_on(at, day)).unwrap_or_default(),
                window.says.clone(),
                format!("B{}", window.basis),
            ]
        })
        .collect();
    let columns = [
        ("On", 4),
        ("Window", 8),
        ("Began", 8),
        ("Opened", 5),
        ("Closed", 8),
        ("Done", 5),
        ("How it ended", 10),
        ("Basis", 4),
    ];
    table("Clocks", &columns, rows, "")
}

pub fn conditions(readings: &[&ReadingTold]) -> Block {
    let rows = readings
        .iter()
        .map(|reading| {
            vec![
                lines([
                    when(&reading.at),
                    reading.recorded_after_work.as_ref().map_or_else(String::new, |recorded| {
                        format!("recorded {}, after the work that it lets pass", when(recorded))
                    }),
                ]),
                format!("{} °C", show(reading.air_c)),
                format!("{} %", show(reading.humidity_pct)),
                format!("{} °C", show(reading.surface_c)),
                reading.dew_point_c.map(|dew| format!("{} °C", show(dew))).unwrap_or_default(),
                reading.wind_kmh.map(|wind| format!("{} km/h", show(wind))).unwrap_or_default(),
                if reading.rain { "RAIN" } else { "dry" }.to_owned(),
                reading.entry.clone(),
            ]
        })
        .collect();
    let columns = [
        ("When", 4),
        ("Air", 2),
        ("Humidity", 2),
        ("Surface", 2),
        ("Dew point", 2),
        ("Wind", 2),
        ("Rain", 2),
        ("Entry", 3),
    ];
    table("Site conditions read on this wall", &columns, rows, "")
}
