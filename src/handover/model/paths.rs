//! Names of the files of a pack.

use crate::record::EntryId;

/// Version of the program that makes it, and the edition of the pages, tables and drawings that it writes: to be raised
/// with every change of them (`tests/handover/document.rs` insists). Only a pack of the same edition can be compared word
/// for word.
pub const PROGRAM: &str = concat!(env!("CARGO_PKG_VERSION"), "+pages.17");

/// Its path in the pack.
pub const MANIFEST: &str = "manifest.json";

/// Path of the record in the pack.
pub const RECORD: &str = "record.jsonl";

/// Path of the pages in the pack.
pub const HTML: &str = "handover.html";

/// Path of the printed pages in the pack.
pub const PDF: &str = "handover.pdf";

/// Path of the page that says how to check and read the pack without the program.
pub const README: &str = "README.txt";

/// The folder for what is put into a pack later: not in the manifest.
pub const ATTACHED: &str = "attached/";

/// The list of what was put there.
pub const ATTACHED_LIST: &str = "attached/list.csv";

/// The folder of the photos in the pack.
pub const PHOTOS: &str = "photos/";

/// Path of a time-stamping authority's answer, by the entry that keeps it.
pub fn stamp_answer(entry: &EntryId) -> String {
    format!("stamps/{entry}.tsr")
}

/// Path of the certificates that came with it.
pub fn stamp_certificates(entry: &EntryId) -> String {
    format!("stamps/{entry}.pem")
}

/// Path of the drawing of a wall. Its number in front keeps "n" and "N" apart where capitals don't count in file names.
pub fn wall_drawing(number: usize, key: &str) -> String {
    format!("drawings/wall-{number}-{key}.svg")
}

/// Path of the drawing of a seal plan, by its place in the document.
pub fn seal_plan_drawing(place: usize) -> String {
    format!("drawings/seal-plan-{}.svg", place + 1)
}

/// Path of the text of a sequence.
pub fn sequence_file(key: &str, edition: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '.' { c } else { '-' };
    format!("sequences/{}.toml", format!("{key}-{edition}").chars().map(plain).collect::<String>())
}

/// Whether desktops leave such a file behind by themselves, wherever it lies.
pub fn is_left_by_desktop(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    matches!(name, ".DS_Store" | "Thumbs.db" | "desktop.ini") || path.split('/').any(|part| part == "__MACOSX")
}

/// A path that stays where it is put, on every system.
pub fn is_plain(path: &str) -> bool {
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}
