//! Care, what the pack is not, signatures, and how to check it.

use std::collections::BTreeSet;

use super::front::withheld;
use crate::handover::model::{Document, when};
use crate::handover::page::{Block, Section, lines, section, split_hash, table, text};
use crate::handover::signature::is_rehearsal_key;

pub fn care(document: &Document) -> Section {
    let first = "What the makers of the panels, coatings and sealants say about care comes first, wherever it says \
                 otherwise. What follows is only what is usual.";
    section("care", "Looking after the cladding", vec![text(first), Block::List { items: document.care.clone() }])
}

pub fn is_not(document: &Document) -> Section {
    let mut blocks = vec![text(
        "This pack shows what the crew recorded, when and by whom. It is no approval, no consent, no design and no \
         engineering, and it proves compliance with nothing. Tolerances and times rest on what stands beside them; \
         where that is common practice, there is no published source.",
    )];
    blocks.push(text(document.job.comes_first.split_whitespace().collect::<Vec<_>>().join(" ")));
    let rows = document
        .job
        .editions
        .iter()
        .map(|edition| {
            let why = edition.why.as_ref().map(|why| format!("Adopted because: {why}")).unwrap_or_default();
            vec![
                lines([
                    format!("{}, edition {}", edition.title, edition.edition),
                    why,
                    edition.changes.join("\n"),
                    edition.edited.as_ref().map(|edited| format!("EDITED: {edited}.")).unwrap_or_default(),
                ]),
                when(&edition.since),
                lines([edition.key.clone(), split_hash(&edition.sha256)]),
            ]
        })
        .collect();
    let columns = [("Sequence", 5), ("In force since", 2), ("Key, SHA-256 of its text", 5)];
    blocks.push(table("The install sequence that the job was built by", &columns, rows, ""));
    section("is-not", "What this pack is not", blocks)
}

/// The section that has the place for signatures, and says what the key's signature shows.
pub fn signatures(document: &Document) -> Section {
    let mut blocks = vec![text(
        "Signed below by hand, this sheet ties the people named to the SHA-256 of the record and to the key. Check both \
         against the files before you sign.",
    )];
    // Those who record and those who release: one line each, and some to spare.
    let releasing: BTreeSet<&String> = document.holds.iter().flat_map(|hold| &hold.roles).collect();
    let signs = |roles: &[String]| roles.iter().any(|role| role == "lead" || releasing.contains(role));
    let mut rows: Vec<Vec<String>> = document
        .people
        .iter()
        .filter(|person| signs(&person.roles))
        .map(|person| vec![person.name.clone(), person.roles.join(", "), ROOM.to_owned(), ROOM.to_owned()])
        .collect();
    rows.extend((0..2).map(|_| vec![ROOM.to_owned(); 4]));
    let columns = [("Name", 4), ("Role", 4), ("Signature", 6), ("Date", 3)];
    blocks.push(table("Signed by hand", &columns, rows, ""));
    blocks.push(text(format!("SHA-256 of record.jsonl: {}", split_hash(&document.record_sha256))));
    match &document.key {
        None => {}
        Some(key) if is_rehearsal_key(key) => blocks.push(text(
            "The files are signed with the key for rehearsals, which everybody has: the signature proves nothing.",
        )),
        Some(key) => blocks.extend([
            text(format!("Fingerprint of the crew's key: {}", split_hash(key))),
            text(
                "The list of files, manifest.json, is signed with this key (Ed25519). The signature shows that the pack \
                 was made where the key is kept, and that no file was changed since. It does not show who typed an \
                 entry, that an entry is true, or when the pack was made: whoever has the key can sign anything, at any \
                 time. Whose key it is, only the people can say: compare the fingerprint with one that they gave you \
                 another way, such as on this sheet signed by hand.",
            ),
        ]),
    }
    let title = "Signatures".to_owned();
    Section { id: "signatures".to_owned(), title, blocks: blocks.into_iter().collect::<Vec<Block>>() }
}

/// Room to write by hand.
const ROOM: &str = "\n\u{a0}\n";

pub fn how_to_verify(document: &Document) -> Section {
    if let Some(withheld) = withheld(document) {
        let hash =
            format!("SHA-256 of the record that these pages were made from: {}", split_hash(&document.record_sha256));
        return section("verify", "Why this copy can't be checked", vec![text(withheld), text(hash)]);
    }
    let heads: Vec<Vec<String>> = {
        let mut last: std::collections::BTreeMap<&str, (&str, &str)> = std::collections::BTreeMap::new();
        for entry in &document.log {
            let device = entry.id.rsplit_once('-').map_or("", |(device, _)| device);
            last.insert(device, (&entry.id, &entry.hash));
        }
        last.into_iter().map(|(device, (id, hash))| vec![device.to_owned(), id.to_owned(), split_hash(hash)]).collect()
    };
    section(
        "verify",
        "How to check this pack",
        vec![
            text(
                "On any machine with the program: cladlog verify FOLDER, or the zip. It checks the hash of every file \
                 and entry, the chain that ties each entry to the one before it and the signature, holds each photo \
                 against the SHA-256 that was recorded, then writes pages, tables and drawings again from the record \
                 and compares them.",
            ),
            text(
                "Without the program: each line of record.jsonl is one entry. Its hash is the SHA-256 of the RFC 8785 \
                 form of the line without 'hash'; its 'prev' is the hash of the entry before it on the same device. \
                 manifest.json lists the SHA-256 of every file. The same record.jsonl is attached to the PDF.",
            ),
            text(
                "The hashes show that nothing was changed since the last entry below was written down somewhere else, \
                 such as on signed paper. They do not show who typed it.",
            ),
            text(format!("SHA-256 of record.jsonl: {}", split_hash(&document.record_sha256))),
            table("The last entry of each device", &[("Device", 3), ("Last entry", 3), ("Hash", 6)], heads, ""),
        ],
    )
}
