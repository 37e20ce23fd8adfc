//! People and site days.

use crate::day::{Attendance, Day};
use crate::handover::model::{Document, clock_on};
use crate::handover::page::{Block, Section, section, some, table, table_or};
use crate::moment::Moment;
use crate::units::number::show;

/// People and site days.
pub fn people(document: &Document<'_>) -> Section {
    let state = document.state();
    let hours_of = |name: &String| state.days.iter().filter_map(|day| day.hours.get(name)).fold(0.0, |a, b| a + b);
    let mut blocks = Vec::new();
    blocks.extend(
        table(
            "People and what each may do",
            &state.job.people,
            &[
                ("Name", 4, &|person| person.name.clone()),
                ("Roles", 4, &|person| person.roles.join(", ")),
                ("Hours", 1, &|person| {
                    some(
                        Some(hours_of(&person.name))
                            .filter(|hours| *hours > 0.0)
                            .map(|hours| format!("{} h", show(hours))),
                    )
                }),
            ],
        )
        .map(Block::from),
    );
    blocks.push(table_or(
        "No site day was opened.",
        "Site days",
        &state.days,
        &[
            ("Day", 3, &|day| {
                let closed = day.closed_at.map(|at| format!(" to {}", clock_on(&at, &day.opened_at)));
                let closed = closed.unwrap_or_else(|| ", not closed".to_owned());
                format!("{}\n{}{closed}", day.opened_at.format("%a %-d %b %Y"), day.opened_at.format("%H:%M"))
            }),
            ("On site", 4, &|day| on_site(day)),
            ("Talk, hazards, remarks", 5, &|day| {
                let talk = day.talk.iter().map(|talk| format!("Talk: {talk}"));
                let hazards = day.hazards.iter().map(|hazard| format!("Hazard: {hazard}"));
                let remark = day.note.iter().map(|note| format!("Remark: {note}"));
                talk.chain(hazards).chain(remark).collect::<Vec<_>>().join("\n")
            }),
        ],
    ));
    section("people", "People and site days", blocks)
}

fn on_site(day: &Day) -> String {
    let line = |one: Attendance<'_>| {
        let clock = |at: Moment| clock_on(&at, &day.opened_at);
        let left = some(one.left_at.map(|left| format!(" to {}", clock(left))));
        let hours = some(one.hours.map(|hours| format!(", {} h", show(hours))));
        format!("{} from {}{left}{hours}", one.name, clock(one.since))
    };
    day.people().map(line).collect::<Vec<_>>().join("\n")
}
