//! The zip of a pack: the same files give the same bytes.

use std::io::{Result, Write};

use chrono::{Datelike, Timelike};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::handover::model::Blob;
use crate::moment::Moment;

/// Endings of files that are packed already: the fastest level is enough for them.
const PACKED: [&str; 5] = [".pdf", ".jpg", ".png", ".webp", ".heic"];

/// Zips files into one folder, with no more than one file in memory. Times come from `made_at`, names are in the order
/// given.
///
/// # Errors
/// A file can't be read, or `to` can't be written.
pub fn zip_into(folder: &str, files: &[(String, Blob)], made_at: &Moment, to: impl Write) -> Result<()> {
    let made_at = made_at.instant();
    let part = |value: u32| u8::try_from(value).unwrap_or_default();
    let time = DateTime::from_date_and_time(
        u16::try_from(made_at.year()).unwrap_or_default(),
        part(made_at.month()),
        part(made_at.day()),
        part(made_at.hour()),
        part(made_at.minute()),
        part(made_at.second()),
    )
    // Outside the years that a zip can write: its own first day.
    .unwrap_or_default();
    // A file that is stored can't be read from a stream when its size comes after it: everything is deflated.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(time)
        .unix_permissions(0o644);
    let mut writer = ZipWriter::new_stream(to);
    for (path, blob) in files {
        let packed = PACKED.iter().any(|ending| path.ends_with(ending));
        writer.start_file(format!("{folder}/{path}"), options.compression_level(packed.then_some(1)))?;
        writer.write_all(&blob.read()?)?;
    }
    writer.finish()?.flush()
}
