//! A page for each wall, then the corners and the whole building: drawing, what is not as it should be, what it is made of,
//! photos.

use super::photos;
use crate::day::{DefectState, Judged};
use crate::handover::model::paths::wall_drawing;
use crate::handover::model::{Document, Outcome, Part, Reservation, Trace, part_of, part_of_id, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table, text};
use crate::plain::count;

/// A page for each wall, then one section for the corners and the whole building.
pub fn walls(document: &Document<'_>) -> Vec<Section> {
    let walls = document.walls().map(|(number, _, part)| of_wall(document, part, number).on_new_page());
    walls.chain([others(document)]).collect()
}

fn of_wall(document: &Document<'_>, part: &Part<'_>, number: usize) -> Section {
    let mut blocks = vec![Block::Drawing { file: wall_drawing(number, part.key) }];
    match list(exceptions(document, part)) {
        Some(exceptions) => blocks.extend([text("Not as it should be, or to know:"), exceptions]),
        None => blocks.push(text("Nothing on it is out of order, and there is nothing else to know.")),
    }
    blocks.push(text(in_order(document, part)));
    blocks.extend(made_of(document, part));
    blocks.extend(photos::newest(document, part.key));
    section(format!("part-{}", part.key), part.title.clone(), blocks)
}

/// Corners and what is of the whole building, a line each.
fn others(document: &Document<'_>) -> Section {
    let parts = || document.parts.iter().filter(|part| part.wall.is_none());
    let subjects = &document.state().subjects;
    let batches = |part: &Part<'_>| {
        let here = |trace: &&Trace| trace.on.first().is_some_and(|index| part_of(subjects.get(*index)) == part.key);
        let traces = document.materials.traces.iter().filter(here);
        let line = |one: &Trace| format!("{} {}", one.product, one.batch.as_deref().unwrap_or("BATCH NOT NAMED"));
        traces.map(line).collect::<Vec<_>>().join("\n")
    };
    let table = table(
        "Corners, and what is of the whole building",
        parts(),
        &[
            ("What", 7, &|part| part.title.clone()),
            ("Measured and timed", 8, &|part| in_order(document, part)),
            ("Made of", 5, &|part| batches(part)),
            ("Not as it should be, or to know", 12, &|part| exceptions(document, part).join("\n")),
        ],
    );
    section("others", "Corners and the whole building", table.into_iter().collect())
}

/// Defects of the part, then the reservations about it that are no defects.
fn exceptions(document: &Document<'_>, part: &Part<'_>) -> Vec<String> {
    let state = document.state();
    let of_part = |(_, one): &(usize, &crate::day::Defect)| part_of_id(state, &one.subject) == part.key;
    let defects = document.defects.iter().filter(|one| of_part(one)).map(|(number, one)| {
        let stands = match one.state {
            DefectState::Open => "OPEN",
            DefectState::Conceded => "may stand",
            DefectState::Closed => "put right",
            DefectState::Void => "void",
        };
        format!("Defect {number} on {}, {stands}: {}", one.subject, one.what)
    });
    let here = |one: &Reservation| {
        let subject = one.subject.as_ref().and_then(|subject| state.subjects.parse(subject).ok()?.first().copied());
        let of = subject.map(|subject| part_of(state.subjects.get(subject)));
        of == Some(part.key) && (one.section.starts_with("part-") || one.section == "others")
    };
    let reservations = (1..).zip(&document.reservations).filter(|(_, one)| here(one));
    let reservations = reservations.map(|(number, one)| {
        let on = some(one.subject.as_ref().map(|subject| format!(", {subject}")));
        format!("Reservation {number}{on}: {}", one.what)
    });
    defects.chain(reservations).collect()
}

/// How much of it was measured and timed, in a sentence.
fn in_order(document: &Document<'_>, part: &Part<'_>) -> String {
    let steps = document.steps.iter().filter(|step| step.part == part.key);
    let judged: Vec<&Judged> =
        steps.flat_map(|step| step.answers).filter(|one| one.value().is_some() && one.held.is_some()).collect();
    let out = judged.iter().filter(|one| one.held == Some(false)).count();
    let windows = || document.windows.iter().filter(|window| window.part == part.key);
    let met = windows().filter(|window| window.outcome == Outcome::Met).count();
    let mut parts = Vec::new();
    if !judged.is_empty() {
        let out = if out == 0 {
            "all in tolerance".to_owned()
        } else {
            format!("{out} out of tolerance when first measured")
        };
        parts.push(format!("{}, {out}", count(judged.len(), "measurement")));
    }
    if windows().count() > 0 {
        parts.push(format!("{}, {met} met", count(windows().count(), "time limit")));
    }
    if parts.is_empty() { "Nothing was measured or timed.".to_owned() } else { format!("{}.", parts.join("; ")) }
}

/// Which batch of which product is where.
fn made_of(document: &Document<'_>, part: &Part<'_>) -> Option<Block> {
    let subjects = &document.state().subjects;
    let here = |trace: &&Trace| trace.on.first().is_some_and(|index| part_of(subjects.get(*index)) == part.key);
    table(
        "What it is made of",
        document.materials.traces.iter().filter(here),
        &[
            ("Product", 2, &|one| one.product.clone()),
            ("Where", 5, &|one| subjects.shortly(&one.on)),
            ("Batch", 3, &|one| one.batch.clone().unwrap_or_else(|| "BATCH NOT NAMED".to_owned())),
            ("When", 5, &|one| {
                let until = (one.first_at != one.last_at).then(|| format!("to {}", when(&one.last_at)));
                lines([when(&one.first_at), some(until)]).replace('\n', " ")
            }),
        ],
    )
}
