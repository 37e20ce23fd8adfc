//! Care, what the pack is not, signatures, and how to check it.

use std::collections::{BTreeMap, BTreeSet};

use super::front::withheld;
use crate::handover::model::{Document, when};
use crate::handover::page::{Section, lines, list, section, some, split_hash, table, text};
use crate::handover::signature::is_rehearsal_key;
use crate::record::Entry;
use crate::sequence::EditionChange;

/// Looking after the cladding.
pub fn care(document: &Document<'_>) -> Section {
    let mut blocks = vec![text(
        "The care instructions of the makers of the panels, coatings and sealants come first. What follows is only what \
         is usual.",
    )];
    blocks.extend(list(&document.state().sequence().care));
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
    blocks.extend(table(
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
    ));
    section("is-not", "What this pack is not", blocks)
}

/// Where people sign by hand, and what the signature of the key shows.
pub fn signatures(document: &Document<'_>) -> Section {
    let mut blocks = vec![text(
        "Signed below by hand, this sheet ties the people named to the SHA-256 of the record and to the key. Check both \
         against the files before you sign.",
    )];
    // Those who record and those who release: one line each, and two to spare.
    let releasing: BTreeSet<&String> = document.holds.iter().flat_map(|hold| &hold.roles).collect();
    let signs = |roles: &[String]| roles.iter().any(|role| role == "lead" || releasing.contains(role));
    let people = document.state().job.people.iter().filter(|person| signs(&person.roles));
    let signing = people.map(|person| (person.name.clone(), person.roles.join(", ")));
    let spare = std::iter::repeat_n((ROOM.to_owned(), ROOM.to_owned()), 2);
    blocks.extend(table(
        "Signed by hand",
        signing.chain(spare),
        &[
            ("Name", 4, &|(name, _)| name.clone()),
            ("Role", 4, &|(_, role)| role.clone()),
            ("Signature", 6, &|_| ROOM.to_owned()),
            ("Date", 3, &|_| ROOM.to_owned()),
        ],
    ));
    blocks.push(text(format!("SHA-256 of record.jsonl: {}", split_hash(&document.record_sha256))));
    match &document.key {
        None => {}
        Some(key) if is_rehearsal_key(key) => blocks.push(text(
            "The files are signed with the key for rehearsals, which is public: the signature proves nothing.",
        )),
        Some(key) => blocks.extend([
            text(format!("Fingerprint of the crew's key (SHA-256 of its DER form): {}", split_hash(key))),
            text(
                "The list of files, manifest.json, is signed with this key (Ed25519). The signature shows that the pack \
                 was made by somebody who has the key, and that no file has changed since. It does not show who typed \
                 an entry, that an entry is true, or when the pack was made: whoever has the key can sign anything, at \
                 any time. Only the people can say whose key it is: compare the fingerprint with one that they gave you \
                 another way, such as on this sheet signed by hand.",
            ),
        ]),
    }
    section("signatures", "Signatures", blocks)
}

/// Room to write by hand.
const ROOM: &str = "\n\u{a0}\n";

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
    blocks.extend(table(
        "The last entry of each device",
        newest,
        &[
            ("Device", 3, &|(device, _)| (*device).to_owned()),
            ("Last entry", 3, &|(_, entry)| entry.id().to_string()),
            ("Hash", 6, &|(_, entry)| split_hash(&entry.hash)),
        ],
    ));
    section("verify", "How to check this pack", blocks)
}
