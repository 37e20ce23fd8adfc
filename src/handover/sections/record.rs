//! Late and struck entries, and notes.

use crate::handover::model::{Document, when};
use crate::handover::page::{Section, lines, section, table, text};

pub fn late_and_struck(document: &Document) -> Section {
    let late = document
        .late
        .iter()
        .map(|one| {
            vec![
                when(&one.happened_at),
                when(&one.recorded_at),
                one.what.clone(),
                lines([one.by.clone(), one.entry.clone()]),
            ]
        })
        .collect();
    let struck = document
        .struck
        .iter()
        .map(|one| {
            vec![
                lines([
                    when(&one.happened_at),
                    if one.late { "recorded late".to_owned() } else { String::new() },
                    one.entry.clone(),
                ]),
                one.what.clone(),
                one.why.clone(),
                lines([one.by.clone(), when(&one.struck_at), one.struck_by.clone()]),
            ]
        })
        .collect();
    let notes = document
        .log
        .iter()
        .filter(|entry| entry.kind == "noted" && entry.struck_by.is_none())
        .map(|entry| vec![when(&entry.happened_at), entry.what.clone(), lines([entry.by.clone(), entry.id.clone()])])
        .collect::<Vec<_>>();
    let mut blocks = vec![
        table(
            "Recorded more than a quarter of an hour after it happened",
            &[("Happened", 3), ("Recorded", 3), ("What", 5), ("By, entry", 3)],
            late,
            "Nothing was recorded late.",
        ),
        table(
            "Struck: crossed out, and still readable",
            &[("Happened, entry", 3), ("What it said", 4), ("Why it was struck", 4), ("Struck by", 3)],
            struck,
            "Nothing was struck.",
        ),
    ];
    if !notes.is_empty() {
        blocks.push(table("Notes", &[("When", 2), ("Note", 6), ("By, entry", 3)], notes, ""));
    }
    if !document.not_understood.is_empty() {
        blocks.push(text(format!(
            "Entries that this version of the program does not understand, kept in the record as they are: {}.",
            document.not_understood.join(", ")
        )));
    }
    section("late", "Late and struck entries, notes", blocks)
}
