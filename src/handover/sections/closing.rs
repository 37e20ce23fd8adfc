//! Care, what the pack is not, and how to check it.

use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};

use super::front::withheld;
use crate::handover::model::{Document, ReservationKind, when};
use crate::handover::page::{Block, Section, lines, list, section, some, split_hash, table, text};
use crate::record::Entry;
use crate::sequence::EditionChange;

/// Months from one washing to the next where the job does not say. Common practice, no source.
const CARE_MONTHS: u32 = 12;

/// Lines of care to tick off.
const TIMES: u32 = 12;

/// Looking after the cladding.
pub fn care(document: &Document<'_>) -> Section {
    let advice = list(&document.state().sequence().care);
    let mut blocks = vec![advice.unwrap_or_else(|| {
        text("The care instructions of the makers of the cladding, its coating and the sealants come first.")
    })];
    let stated = document.state().job.particulars.as_ref().and_then(|particulars| particulars.care_months);
    let months = stated.unwrap_or(CARE_MONTHS);
    let every = if months == 1 { "every month".to_owned() } else { format!("every {months} months") };
    blocks.push(text(match stated {
        Some(_) => format!("On this building wash the walls and look at every sealed joint {every}, as the job states."),
        None => format!(
            "Wash the walls and look at every sealed joint {every} at least: the job states no interval, and that is common \
             practice, no source. By the sea, and where rain does not reach, it is due more often."
        ),
    }));
    let left = document.reservations.iter().filter(|one| one.kind == ReservationKind::HandedOn);
    blocks.extend(list(left.map(|one| format!("{}: {}.", some(one.subject.as_ref()), one.what))));
    let last = document.state().days.iter().map(|day| day.date).max();
    let due = |last: NaiveDate| (1..=TIMES).filter_map(move |time| last.checked_add_months(Months::new(months * time)));
    blocks.extend(
        table(
            "To tick off",
            last.into_iter().flat_map(due),
            &[
                ("Due", 3, &|due| due.format("%B %Y").to_string()),
                ("Washed", 3, &|_| String::new()),
                ("Joints looked at", 4, &|_| String::new()),
                ("By whom", 5, &|_| String::new()),
            ],
        )
        .map(|table| table.by_hand(3).into()),
    );
    section("care", "Looking after the cladding", blocks)
}

/// What the pack does not show, and the sequences that the job was built by.
pub fn is_not(document: &Document<'_>) -> Section {
    let comes_first = document.state().sequence().comes_first.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut blocks = vec![
        text(
            "This pack shows what the crew recorded, when and by whom. It is not an approval, a consent, a design or \
             engineering, and does not prove compliance. Tolerances and times are given with their basis; where that is \
             common practice, there is no published source.",
        ),
        text(comes_first),
    ];
    blocks.extend(
        table(
            "The install sequence that the job was built by",
            &document.editions,
            &[
                ("Sequence", 5, &|edition| {
                    lines([
                        format!("{}, edition {}", edition.sequence.title, edition.sequence.edition),
                        some(edition.why.map(|why| format!("Adopted because: {why}"))),
                        edition.changes.iter().map(EditionChange::in_words).collect::<Vec<_>>().join("\n"),
                        some(edition.sequence.edited_in_words().map(|edited| format!("EDITED: {edited}."))),
                    ])
                }),
                ("In force since", 2, &|edition| when(&edition.since)),
                ("Key, SHA-256 of its text", 5, &|edition| {
                    lines([edition.sequence.key.clone(), split_hash(&edition.sequence.sha256)])
                }),
            ],
        )
        .map(Block::from),
    );
    section("is-not", "What this pack is not", blocks)
}

/// How to check the pack, or why a copy can't be checked.
pub fn how_to_verify(document: &Document<'_>) -> Section {
    if let Some(withheld) = withheld(document) {
        let hash = split_hash(&document.record_sha256);
        let hash = text(format!("SHA-256 of the record that these pages were made from: {hash}"));
        return section("verify", "Why this copy can't be checked", vec![text(withheld), hash]);
    }
    let newest: BTreeMap<&str, &Entry> = document.book.entries.iter().map(|entry| (&*entry.device, entry)).collect();
    let mut blocks = vec![
        text(
            "On any machine with the program: cladlog verify FOLDER, or the zip. It checks the hash of every file and \
             entry, the chain that ties each entry to the one before it, and the signature. It compares each photo with \
             the SHA-256 that was recorded, makes pages, tables and drawings again from the record, and compares them.",
        ),
        text(
            "Without the program: each line of record.jsonl is one entry. Its hash is the SHA-256 of the RFC 8785 form \
             of the line without 'hash'; its 'prev' is the hash of the entry before it on the same device. \
             manifest.json lists the SHA-256 of every file. The same record.jsonl is attached to the PDF.",
        ),
        text(
            "The hashes show that nothing was changed since the last entry below was written down somewhere else, such \
             as on signed paper. They do not prove who typed an entry.",
        ),
        text(format!("SHA-256 of record.jsonl: {}", split_hash(&document.record_sha256))),
    ];
    blocks.extend(
        table(
            "The last entry of each device",
            newest,
            &[
                ("Device", 3, &|(device, _)| (*device).to_owned()),
                ("Last entry", 3, &|(_, entry)| entry.id().to_string()),
                ("Hash", 6, &|(_, entry)| split_hash(&entry.hash)),
            ],
        )
        .map(Block::from),
    );
    section("verify", "How to check this pack", blocks)
}
