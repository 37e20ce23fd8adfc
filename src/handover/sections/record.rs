//! Late and struck entries, and notes.

use crate::handover::model::{Document, when};
use crate::handover::page::{Block, Section, lines, section, some, table, table_or, text};
use crate::record::{Body, Entry};

/// Entries recorded late, entries that were struck, and notes.
pub fn late_and_struck(document: &Document<'_>) -> Section {
    let (book, state) = (document.book, document.state());
    let in_time = book.in_time();
    let struck = |entry: &'_ Entry| {
        let strike = book.entry(state.struck.get(&entry.id())?)?;
        let Body::Struck(it) = &strike.body else { return None };
        Some((strike, it.why.clone()))
    };
    let by = |entry: &Entry| lines([entry.by.clone(), entry.id().to_string()]);
    let mut blocks = vec![
        table_or(
            "Nothing was recorded late.",
            "Recorded more than a quarter of an hour after it happened",
            in_time.iter().filter(|entry| entry.is_late()),
            &[
                ("Happened", 3, &|entry| when(&entry.happened_at)),
                ("Recorded", 3, &|entry| when(&entry.recorded_at)),
                ("What", 5, &|entry| entry.body.in_words()),
                ("By, entry", 3, &|entry| by(entry)),
            ],
        ),
        table_or(
            "Nothing was struck.",
            "Struck entries: withdrawn, and still readable",
            book.entries.iter().filter_map(|entry| Some((entry, struck(entry)?))),
            &[
                ("Happened, entry", 3, &|(entry, _)| {
                    let late = entry.is_late().then_some("recorded late");
                    lines([when(&entry.happened_at), some(late), entry.id().to_string()])
                }),
                ("What it said", 4, &|(entry, _)| entry.body.in_words()),
                ("Why it was struck", 4, &|(_, (_, why))| why.clone()),
                ("Struck by", 3, &|(_, (strike, _))| {
                    lines([strike.by.clone(), when(&strike.happened_at), strike.id().to_string()])
                }),
            ],
        ),
    ];
    let is_note = |entry: &&Entry| matches!(entry.body, Body::Noted(_)) && !state.struck.contains_key(&entry.id());
    blocks.extend(
        table(
            "Notes",
            book.entries.iter().filter(is_note),
            &[
                ("When", 2, &|entry| when(&entry.happened_at)),
                ("Note", 6, &|entry| entry.body.in_words()),
                ("By, entry", 3, &|entry| by(entry)),
            ],
        )
        .map(Block::from),
    );
    if !state.not_understood.is_empty() {
        let ids: Vec<String> = state.not_understood.iter().map(ToString::to_string).collect();
        blocks.push(text(format!(
            "Entries that this version of the program does not understand, kept in the record as they are: {}.",
            ids.join(", ")
        )));
    }
    section("late", "Late and struck entries, notes", blocks)
}
