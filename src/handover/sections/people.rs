//! People, days, papers and cautions.

use crate::handover::model::{Document, clock_on};
use crate::handover::page::{Section, section, table};
use crate::units::number::show;

pub fn people(document: &Document) -> Section {
    let people = document
        .people
        .iter()
        .map(|one| {
            let hours = if one.hours == 0.0 { String::new() } else { format!("{} h", show(one.hours)) };
            vec![one.name.clone(), one.roles.join(", "), hours]
        })
        .collect();
    let days = document
        .days
        .iter()
        .map(|day| {
            let closed = day.closed_at.as_ref().map_or("not closed".to_owned(), |at| clock_on(at, &day.opened_at));
            let crew = day.crew.iter().map(|one| {
                let hours = one.hours.map(|hours| format!(", {} h", show(hours))).unwrap_or_default();
                format!("{} from {}{hours}", one.name, clock_on(&one.since, &day.opened_at))
            });
            let mut said: Vec<String> = day.talk.iter().map(|talk| format!("Talk: {talk}")).collect();
            said.extend(day.hazards.iter().map(|hazard| format!("Hazard: {hazard}")));
            said.extend(day.note.iter().map(|note| format!("Remark: {note}")));
            vec![
                format!("{}\n{} to {closed}", day.opened_at.format("%a %-d %b %Y"), day.opened_at.format("%H:%M")),
                crew.collect::<Vec<_>>().join("\n"),
                said.join("\n"),
            ]
        })
        .collect();
    let papers = document
        .papers
        .iter()
        .map(|paper| {
            let asked = if paper.asked.is_empty() { &paper.key } else { &paper.asked };
            vec![asked.clone(), paper.held.clone().unwrap_or_else(|| "NOT LISTED on the job".to_owned())]
        })
        .collect();
    section(
        "people",
        "People, days and papers",
        vec![
            table("People and what each may do", &[("Name", 4), ("Roles", 4), ("Hours", 1)], people, ""),
            table(
                "Site days",
                &[("Day", 3), ("On site", 4), ("Talk, hazards, remarks", 5)],
                days,
                "No site day was opened.",
            ),
            table("Papers", &[("Asked for", 5), ("Held", 5)], papers, "The sequence asks for no papers."),
        ],
    )
}

pub fn cautions(document: &Document) -> Section {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for one in &document.cautions {
        let said = format!("{} {}", one.person, one.at.format("%H:%M"));
        let day = one.at.format("%a %-d %b %Y").to_string();
        match rows.last_mut().filter(|row| row[0] == day && row[1] == one.title) {
            Some(row) => row[2] = format!("{}, {said}", row[2]),
            None => rows.push(vec![day, one.title.clone(), said]),
        }
    }
    let columns = [("Day", 2), ("Hazard", 3), ("Acknowledged by, at", 6)];
    let none = "No caution was acknowledged.";
    section("cautions", "Cautions acknowledged", vec![table("Cautions acknowledged, day by day", &columns, rows, none)])
}
