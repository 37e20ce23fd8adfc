//! Where people sign: by hand on the sheet, and the crew's key over the files.

use std::collections::BTreeSet;

use super::document::Document;
use super::sheets::{Block, Section, split_hash, table, text};
use super::signature::is_rehearsal_key;

/// The section that has the place for signatures, and says what the key's signature shows.
pub(super) fn section(document: &Document) -> Section {
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
