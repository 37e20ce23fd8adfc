//! Stoppages, extra work, quantities and hours.

use rust_decimal::Decimal;

use crate::building::Unit;
use crate::handover::model::{Document, clock_on, when};
use crate::handover::page::{Block, Section, lines, table, text};
use crate::units::number::{crew_hours, show};

/// Stoppages and extra work.
pub fn stoppages_and_extras(document: &Document) -> Section {
    let costs = &document.costs;
    let stopped = costs
        .stoppages
        .iter()
        .map(|one| {
            let until =
                one.ended_at.map_or("STILL OPEN".to_owned(), |at| format!("to {}", clock_on(&at, &one.started_at)));
            let idle = one.people.map_or("everybody on site".to_owned(), |people| format!("{people} idle"));
            vec![
                lines([when(&one.started_at), until]),
                one.subject.clone(),
                lines([one.cause.clone(), one.note.clone().unwrap_or_default()]),
                one.told.join(", "),
                lines([crew_hours(one.crew_hours_lost), idle]),
                one.entry.clone(),
            ]
        })
        .collect::<Vec<_>>();
    let many = stopped.len();
    let extras = costs
        .extras
        .iter()
        .map(|one| {
            vec![
                when(&one.at),
                one.subject.clone(),
                lines([one.what.clone(), one.size.clone()]),
                one.asked_by.clone(),
                one.told.join(", "),
                one.entry.clone(),
            ]
        })
        .collect();
    let mut blocks = vec![table(
        "Stoppages, and who was told",
        &[("When", 4), ("On", 2), ("Cause, remark", 6), ("Told", 3), ("Lost", 4), ("Entry", 3)],
        stopped,
        "Work never stood still, as far as the record says.",
    )];
    if many > 1 {
        let total = crew_hours(costs.crew_hours_lost);
        blocks.push(text(format!("{total} lost in all, time that two stoppages share counted once.")));
    }
    blocks.push(table(
        "Extra work, and who asked for it",
        &[("When", 4), ("On", 2), ("What, how much", 6), ("Asked by", 3), ("Told", 3), ("Entry", 3)],
        extras,
        "No extra work was asked for.",
    ));
    Section { id: "extras".to_owned(), title: "Stoppages and extra work".to_owned(), blocks }
}

/// Quantities and pace.
pub fn quantities(document: &Document) -> Section {
    let pace = &document.costs.pace;
    let rows = document
        .costs
        .quantities
        .iter()
        .map(|one| {
            // What is counted on a wall are its openings; a corner is a part of its own.
            let on_wall = document.parts.iter().any(|part| part.key == one.part && part.wall.is_some());
            let many = |value: &Decimal| match one.unit {
                Unit::Each => {
                    let s = if *value == Decimal::ONE { "" } else { "s" };
                    format!("{} {}{s}", value.normalize(), if on_wall { "opening" } else { "corner" })
                }
                _ => format!("{value} {}", one.unit.sign()),
            };
            vec![one.part.clone(), one.title.clone(), many(&one.whole), many(&one.complete)]
        })
        .collect();
    let hours = pace
        .stages
        .iter()
        .filter(|stage| stage.crew_hours > 0.0)
        .map(|stage| {
            let sign = stage.unit.map(Unit::sign).unwrap_or_default();
            let with = |value: Option<f64>| value.map(|value| format!("{} {sign}", show(value))).unwrap_or_default();
            let range = stage.range.map(|range| format!("{} to {}", show(range.low), show(range.high)));
            vec![
                stage.title.clone(),
                show(stage.crew_hours),
                with(stage.done),
                with(stage.per_crew_hour),
                range.unwrap_or_default(),
            ]
        })
        .collect();
    let mut blocks = vec![
        table(
            "Work complete, by part of the building and stage",
            &[("On", 2), ("Stage", 6), ("In all", 3), ("Complete", 3)],
            rows,
            "Nothing can be measured: the job gives no lengths and heights.",
        ),
        text(
            "Square metres are of wall net of openings, metres are of joint. A part counts when every step that the \
             stage asks of it is complete.",
        ),
        table(
            "Crew-hours by stage",
            &[("Stage", 6), ("Crew-hours", 2), ("Done", 3), ("In a crew-hour", 3), ("Usually", 3)],
            hours,
            "No site day with hours and steps is closed.",
        ),
        text(
            "The hours of each closed day, less what stoppages took, are put down to the steps recorded in it by the \
             times between the records; so they are only as good as those times. 'Usually' is the middle half of the \
             stretches of work.",
        ),
    ];
    if !document.complete {
        let said = pace.in_words();
        let mut letters = said.chars();
        let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
        blocks.push(text(format!("{first}{}.", letters.as_str())));
    }
    if !pace.remarks.is_empty() {
        let items = pace.remarks.iter().map(|remark| crate::plain::visible(remark)).collect();
        blocks.push(Block::List { items });
    }
    Section { id: "quantities".to_owned(), title: "Quantities and hours".to_owned(), blocks }
}
