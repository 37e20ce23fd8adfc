//! Stoppages, extra work, quantities and hours.

use rust_decimal::Decimal;

use crate::accounts::ClaimLine;
use crate::accounts::pace::StagePace;
use crate::building::Unit;
use crate::handover::model::{Document, clock_on, when};
use crate::handover::page::{Section, lines, list, section, some, table_or, text};
use crate::plain::count;
use crate::units::number::{crew_hours, show};

/// Stoppages and extra work.
pub fn stoppages_and_extras(document: &Document<'_>) -> Section {
    let mut blocks = vec![table_or(
        "No stoppage is recorded.",
        "Stoppages, and who was notified",
        document.stoppages.iter().map(|row| (&row.stoppage, row.lost_h)),
        &[
            ("When", 4, &|(one, _)| {
                let until = one.ended_at.map(|at| format!("to {}", clock_on(&at, &one.started_at)));
                lines([when(&one.started_at), until.unwrap_or_else(|| "STILL OPEN".to_owned())])
            }),
            ("On", 2, &|(one, _)| one.subject.clone()),
            ("Cause, remark", 6, &|(one, _)| lines([one.cause.clone(), some(one.note.as_ref())])),
            ("Notified", 3, &|(one, _)| one.notified.join(", ")),
            ("Lost", 4, &|(one, lost_h)| {
                let idle = one.people.map_or("everybody on site".to_owned(), |people| format!("{people} idle"));
                lines([crew_hours(*lost_h), idle])
            }),
            ("Entry", 3, &|(one, _)| one.entry.to_string()),
        ],
    )];
    if document.stoppages.len() > 1 {
        let total = crew_hours(document.crew_hours_lost);
        blocks.push(text(format!("{total} lost in all; time that two stoppages share is counted once.")));
    }
    blocks.push(table_or(
        "No extra work was asked for.",
        "Extra work, and who asked for it",
        &document.state().extras,
        &[
            ("When", 4, &|one| when(&one.at)),
            ("On", 2, &|one| one.subject.clone()),
            ("What, how much", 6, &|one| lines([one.what.clone(), one.size()])),
            ("Asked for by", 3, &|one| one.asked_by.clone()),
            ("Notified", 3, &|one| one.notified.join(", ")),
            ("Entry", 3, &|one| one.entry.to_string()),
        ],
    ));
    section("extras", "Stoppages and extra work", blocks)
}

/// Quantities and pace.
pub fn quantities(document: &Document<'_>) -> Section {
    // What is counted on a wall are its openings; a corner is a part of its own.
    let on_wall = |key: &str| document.parts.iter().any(|part| part.key == key && part.wall.is_some());
    let quantity = |line: &ClaimLine, value: &Decimal| match line.unit {
        Unit::Each => {
            let one = if on_wall(&line.part) { "opening" } else { "corner" };
            count(usize::try_from(*value).unwrap_or_default(), one)
        }
        unit => format!("{value} {}", unit.sign()),
    };
    let pace = &document.pace;
    let with_unit = |stage: &StagePace, value: Option<f64>| {
        let sign = stage.unit.map(Unit::sign).unwrap_or_default();
        some(value.map(|value| format!("{} {sign}", show(value))))
    };
    let mut blocks = vec![
        table_or(
            "No quantities: the job file has no lengths and heights.",
            "Work complete, by part of the building and stage",
            &document.quantities,
            &[
                ("On", 2, &|line| line.part.clone()),
                ("Stage", 6, &|line| line.title.clone()),
                ("In all", 3, &|line| quantity(line, &line.whole)),
                ("Complete", 3, &|line| quantity(line, &line.so_far)),
            ],
        ),
        text(
            "Square metres are of wall, net of openings; metres are of joint. A part counts when every step that the \
             stage asks of it is complete.",
        ),
        table_or(
            "No closed site day has both hours and steps.",
            "Crew-hours by stage",
            pace.stages.iter().filter(|stage| stage.crew_hours > 0.0),
            &[
                ("Stage", 6, &|stage| stage.title.clone()),
                ("Crew-hours", 2, &|stage| show(stage.crew_hours)),
                ("Done", 3, &|stage| with_unit(stage, stage.done)),
                ("In a crew-hour", 3, &|stage| with_unit(stage, stage.per_crew_hour)),
                ("Usual range", 3, &|stage| {
                    some(stage.range.map(|range| format!("{} to {}", show(range.low), show(range.high))))
                }),
            ],
        ),
        text(
            "The hours of each closed day, less time lost to stoppages, are shared among the steps recorded in it by the \
             times between the records, so they are only as good as those times. 'Usual range' leaves out the slowest \
             and the fastest quarter of the work periods.",
        ),
    ];
    if !document.is_complete() {
        blocks.push(text(format!("{}.", sentence(&pace.in_words()))));
    }
    blocks.extend(list(&pace.remarks));
    section("quantities", "Quantities and hours", blocks)
}

/// With a capital at the start.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
