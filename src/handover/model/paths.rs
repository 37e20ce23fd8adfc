//! Names of the files of a pack.

/// Version of the program that makes it.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// Its path in the pack.
pub const MANIFEST: &str = "manifest.json";

/// Path of the record in the pack.
pub const RECORD: &str = "record.jsonl";

/// Path of the pages in the pack.
pub const HTML: &str = "handover.html";

/// Path of the printed pages in the pack.
pub const PDF: &str = "handover.pdf";

/// The folder of the photos in the pack.
pub const PHOTOS: &str = "photos/";

/// A path that stays where it is put, on every system.
pub fn is_plain(path: &str) -> bool {
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}
