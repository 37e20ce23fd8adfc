//! A page for each wall, then the corners and the whole building: drawing, what is not as it should be, what it is made of,
//! photos.

use std::collections::BTreeSet;

use super::defects::status;
use super::{numbered, photos};
use crate::building::SubjectIx;
use crate::day::{Defect, DefectState, Judged};
use crate::handover::model::paths::wall_drawing;
use crate::handover::model::{
    Document, More, NOT_NAMED, Number, Outcome, Part, Reservation, Trace, part_of, part_of_id, when,
};
use crate::handover::page::{Block, Link, Section, lines, section, some, table, text};
use crate::table::grouped;

/// A page for each wall, then one section for the corners and the whole building.
pub fn walls(document: &Document<'_>) -> Vec<Section> {
    let walls = document.walls().map(|(number, _, part)| of_wall(document, part, number).on_new_page());
    walls.chain([others(document)]).collect()
}

fn of_wall(document: &Document<'_>, part: &Part<'_>, number: usize) -> Section {
    let mut blocks = vec![Block::Drawing { file: wall_drawing(number, part.key) }];
    let (exceptions, on_all) = exceptions(document, part);
    let links: Vec<Link> = exceptions.iter().map(|one| numbered(one.more)).collect();
    let table = table(
        "What to know about this wall",
        exceptions,
        &[
            ("No.", 5, &|one| one.numbers.clone()),
            ("Where", 7, &|one| one.on.clone()),
            ("What", 60, &|one| format!("{}.", one.what())),
        ],
    );
    if table.is_none() && on_all.is_empty() {
        blocks.push(text("Nothing on it is out of order, and there is nothing else to know."));
    }
    blocks.extend(table.map(|table| table.with_links(links).into()));
    let on_all = (!on_all.is_empty()).then(|| on_every_wall(&on_all));
    blocks.push(text(lines([some(on_all), in_order(document, part)])));
    blocks.extend(made_of(document, part));
    blocks.extend(photos::newest(document, part.key));
    section(format!("part-{}", part.key), part.title.clone(), blocks)
}

fn on_every_wall(numbers: &[String]) -> String {
    format!("On every wall, or on the whole job: {}; the first page lists them.", numbers.join(", "))
}

/// Corners and what is of the whole building, a line each.
fn others(document: &Document<'_>) -> Section {
    let parts = || document.parts.iter().filter(|part| part.wall.is_none());
    let subjects = &document.state().subjects;
    let batches = |part: &Part<'_>| {
        let here = |trace: &&Trace| trace.on.first().is_some_and(|index| part_of(subjects.get(*index)) == part.key);
        let traces = document.materials.traces.iter().filter(here);
        let line = |one: &Trace| format!("{} {}", one.product, one.batch.as_deref().unwrap_or(NOT_NAMED));
        traces.map(line).collect::<Vec<_>>().join("\n")
    };
    let table = table(
        "Part by part",
        parts(),
        &[
            ("What", 7, &|part| part.title.clone()),
            ("Measured and timed", 8, &|part| in_order(document, part)),
            ("Made of", 5, &|part| batches(part)),
            ("What to know", 12, &|part| {
                let (exceptions, on_all) = exceptions(document, part);
                let here = exceptions.iter().map(|one| format!("{}, {}: {}", one.numbers, one.on, one.what()));
                let of_job = (part.key == "job" && !on_all.is_empty()).then(|| on_every_wall(&on_all));
                here.chain(of_job).collect::<Vec<_>>().join("\n")
            }),
        ],
    );
    section("others", "Corners and the whole building", table.into_iter().map(Block::from).collect())
}

/// A defect or a reservation that bears on a part of the building.
struct Exception<'d> {
    /// Its number; with a defect that of its reservation, where it has one.
    numbers: String,
    on: String,
    what: String,
    /// The row of the pages that says more.
    more: Number,
    defect: Option<&'d Defect>,
}

impl Exception<'_> {
    fn what(&self) -> String {
        match self.defect {
            Some(defect) => format!("{} ({})", self.what, status(defect)),
            None => self.what.clone(),
        }
    }
}

/// Defects and reservations that bear on a part of the building, and the numbers of those that bear on all of it.
fn exceptions<'d>(document: &'d Document<'_>, part: &Part<'_>) -> (Vec<Exception<'d>>, Vec<String>) {
    let subjects = &document.state().subjects;
    let defects = document.defects.iter().filter(|(_, defect)| bears_on(document, part, &defect.subject));
    let defect = |(number, defect): &'d (usize, Defect)| {
        let more = Number::Defect(*number);
        let reservation = document.reservations.iter().find(|one| one.more == More::Numbered(more));
        Exception {
            numbers: lines([more.to_string(), some(reservation.map(|one| one.number))]).replace('\n', ", "),
            on: defect.subject.clone(),
            what: defect.what.clone(),
            more,
            defect: Some(defect),
        }
    };
    let mut found: Vec<Exception<'_>> = defects.map(defect).collect();
    let on_all = |one: &&Reservation| {
        let on = one.on.iter().filter_map(|subject| subjects.index(subject));
        let walls: BTreeSet<SubjectIx> = on.flat_map(|index| subjects.exposed_walls(index)).copied().collect();
        let all = subjects.all_walls().len();
        one.on.is_empty() || (all > 1 && walls.len() == all)
    };
    // A concession stands with its defect.
    let others = || document.reservations.iter().filter(|one| !matches!(one.more, More::Numbered(Number::Defect(_))));
    let here = |one: &&Reservation| !on_all(one) && one.on.iter().any(|subject| bears_on(document, part, subject));
    found.extend(others().filter(here).map(|one| Exception {
        numbers: one.number.to_string(),
        on: some(one.subject.as_ref()),
        what: one.brief.clone(),
        more: one.number,
        defect: None,
    }));
    (found, others().filter(on_all).map(|one| one.number.to_string()).collect())
}

/// Whether something on a subject bears on a part of the building: what is at a corner bears on both its walls.
fn bears_on(document: &Document<'_>, part: &Part<'_>, subject: &str) -> bool {
    let subjects = &document.state().subjects;
    let at_corner = || {
        let (subject, wall) = (subjects.index(subject), subjects.index(part.key));
        part.wall.is_some() && subject.zip(wall).is_some_and(|(on, wall)| subjects.walls_of(on).contains(&wall))
    };
    part_of_id(document.state(), subject) == part.key || at_corner()
}

/// How much of it, and of what is at the corners of a wall, was measured and timed, and what became of the rest.
fn in_order(document: &Document<'_>, part: &Part<'_>) -> String {
    let steps = || document.steps.iter().filter(|step| bears_on(document, part, &step.done.subject));
    let limited = || steps().flat_map(|step| step.answers).filter(|one| one.value().is_some() && one.held.is_some());
    let out = limited().filter(|one| one.held == Some(false));
    let out: Vec<String> = out.map(|one| outcome_of(document, one)).collect();
    let mut parts = Vec::new();
    if limited().count() > 0 {
        let corners = if part.wall.is_some() { ", corners included" } else { "" };
        let out = if out.is_empty() { "none out".to_owned() } else { format!("{} out: {}", out.len(), out.join("; ")) };
        parts.push(format!("Measurements with a limit{corners}: {}, {out}.", limited().count()));
    }
    let windows = || document.windows.iter().filter(|window| bears_on(document, part, &window.subject));
    let not_met = grouped(windows().filter(|it| it.outcome != Outcome::Met).map(|it| (it.outcome.in_words(), ())));
    let not_met: Vec<String> = not_met.into_iter().map(|(words, all)| format!("{} {words}", all.len())).collect();
    if windows().count() > 0 {
        let not_met = if not_met.is_empty() { "all met".to_owned() } else { not_met.join(", ") };
        parts.push(format!("Time limits: {}, {not_met}.", windows().count()));
    }
    if parts.is_empty() { "Nothing was measured or timed.".to_owned() } else { parts.join(" ") }
}

/// What became of a measurement that was out: "D2, stands as conceded", "D1, put right, measured again 3 Mar 2026 10:10".
fn outcome_of(document: &Document<'_>, out: &Judged) -> String {
    let Some((id, number)) = out.defect.as_ref().and_then(|id| Some((id, document.defect_numbers.get(id)?))) else {
        return "no defect was opened".to_owned();
    };
    let defect = &document.state().defects[number - 1];
    let first = document.steps.iter().find(|step| step.entry.id() == id.entry);
    let again = document.steps.iter().find(|step| {
        let same = first.is_some_and(|first| {
            (&first.done.step, &first.done.subject) == (&step.done.step, &step.done.subject)
                && (first.entry.happened_at, first.entry.causal_rank())
                    < (step.entry.happened_at, step.entry.causal_rank())
        });
        same && step.answers.iter().any(|one| one.ask.key == out.ask.key && one.held == Some(true))
    });
    let again = again.filter(|_| defect.state == DefectState::Closed);
    let again = again.map(|step| format!(", measured again {}", when(&step.entry.happened_at)));
    format!("{}, {}{}", Number::Defect(*number), status(defect), some(again))
}

/// Which batch of which product is where, a line for each; what is at the corners of a wall with it. What is on the wall and on
/// no part of it stands together in one line below.
fn made_of(document: &Document<'_>, part: &Part<'_>) -> Vec<Block> {
    let subjects = &document.state().subjects;
    let is_here = |on: &SubjectIx| bears_on(document, part, &subjects.get(*on).to_string());
    let here = document.materials.traces.iter().filter(|trace| trace.on.first().is_some_and(is_here));
    let rows = grouped(here.map(|trace| ((&trace.product, trace.batch.as_deref().unwrap_or(NOT_NAMED)), trace)));
    let wall = subjects.index(part.key);
    let (whole, placed): (Vec<_>, Vec<_>) =
        rows.into_iter().partition(|(_, traces)| traces.iter().flat_map(|trace| &trace.on).all(|on| Some(*on) == wall));
    let table = table(
        "What it is made of, corners included",
        placed,
        &[
            ("Product", 2, &|((product, _), _)| (*product).clone()),
            ("Where", 5, &|(_, traces)| {
                subjects.shortly(&traces.iter().flat_map(|trace| &trace.on).copied().collect::<Vec<_>>())
            }),
            ("Batch", 3, &|((_, batch), _)| (*batch).to_owned()),
            ("When", 5, &|(_, traces)| {
                let first = traces.iter().map(|trace| trace.first_at).min();
                let last = traces.iter().map(|trace| trace.last_at).max().filter(|last| Some(*last) != first);
                let until = last.map(|last| format!(" to {}", when(&last)));
                format!("{}{}", some(first.as_ref().map(when)), some(until))
            }),
        ],
    );
    let whole: Vec<String> = whole.iter().map(|((product, batch), _)| format!("{product} {batch}")).collect();
    let whole = (!whole.is_empty()).then(|| text(format!("On the whole wall: {}.", whole.join(", "))));
    table.into_iter().map(Block::from).chain(whole).collect()
}
