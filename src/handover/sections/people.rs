//! People, days, papers and cautions.

use crate::day::Day;
use crate::handover::model::{Document, clock_on};
use crate::handover::page::{Section, section, some, table, table_or};
use crate::table::grouped;
use crate::units::number::show;

/// People, site days and papers.
pub fn people(document: &Document<'_>) -> Section {
    let state = document.state();
    let hours_of = |name: &String| state.days.iter().filter_map(|day| day.hours.get(name)).fold(0.0, |a, b| a + b);
    let mut blocks = Vec::new();
    blocks.extend(table(
        "People and what each may do",
        &state.job.people,
        &[
            ("Name", 4, &|person| person.name.clone()),
            ("Roles", 4, &|person| person.roles.join(", ")),
            ("Hours", 1, &|person| {
                some(
                    Some(hours_of(&person.name)).filter(|hours| *hours > 0.0).map(|hours| format!("{} h", show(hours))),
                )
            }),
        ],
    ));
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
    blocks.push(table_or(
        "The sequence asks for no papers.",
        "Papers",
        &document.papers,
        &[
            ("Asked for", 5, &|paper| paper.asked.to_owned()),
            ("On the job's list", 5, &|paper| paper.held.unwrap_or("NO").to_owned()),
        ],
    ));
    section("people", "People, days and papers", blocks)
}

fn on_site(day: &Day) -> String {
    let line = |(name, since, hours): (&str, _, Option<f64>)| {
        let hours = some(hours.map(|hours| format!(", {} h", show(hours))));
        format!("{name} from {}{hours}", clock_on(&since, &day.opened_at))
    };
    day.people().map(line).collect::<Vec<_>>().join("\n")
}

/// Cautions acknowledged, those of one day together.
pub fn cautions(document: &Document<'_>) -> Section {
    let rows = grouped(document.acknowledged().into_iter().map(|one| {
        let by = format!("{} {}", one.person, one.at.format("%H:%M"));
        ((one.at.format("%a %-d %b %Y").to_string(), one.title), by)
    }));
    let table = table_or(
        "No caution was acknowledged.",
        "Cautions acknowledged, day by day",
        rows,
        &[
            ("Day", 2, &|((day, _), _)| day.clone()),
            ("Hazard", 3, &|((_, title), _)| (*title).to_owned()),
            ("Acknowledged by, at", 6, &|(_, by)| by.join(", ")),
        ],
    );
    section("cautions", "Cautions acknowledged", vec![table])
}
