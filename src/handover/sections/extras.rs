//! Stoppages and extra work.

use crate::handover::model::{Document, clock_on, when};
use crate::handover::page::{Section, lines, section, some, table_or, text};
use crate::units::number::crew_hours;

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
