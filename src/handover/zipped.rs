//! The pack as a zip: written so that the same files give the same bytes, read so that no zip does harm.

use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};

use chrono::{Datelike, Timelike};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

use crate::moment::Moment;

/// More files than any pack has.
const MOST_FILES: usize = 50_000;
/// More bytes than any pack has, unpacked: 4 GiB.
const MOST_BYTES: u64 = 4 << 30;

/// Why a zip is no pack.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ZipFault {
    /// It can't be written.
    #[error("the zip can't be written: {0}")]
    Write(String),
    /// It can't be read.
    #[error("the zip can't be read: {0}")]
    Read(String),
    /// A name that leads out of the folder, or is no plain name.
    #[error(
        "the zip has an entry named {0}, which leads out of its folder or is no plain path: nothing of it was used"
    )]
    Name(String),
    /// Entries outside the one folder.
    #[error("the entries of the zip do not lie in one folder: {0}")]
    Folder(String),
    /// The same name twice.
    #[error("the zip has two entries named {0}")]
    Twice(String),
    /// Too many files or bytes.
    #[error("the zip unpacks to more than a pack can hold: {0}")]
    TooLarge(String),
}

/// Zips files into one folder. Times come from `made_at`, names are in the order given.
///
/// # Errors
/// [`ZipFault::Write`].
pub fn zip_of(folder: &str, files: &[(String, Vec<u8>)], made_at: &Moment) -> Result<Vec<u8>, ZipFault> {
    let failed = |error: zip::result::ZipError| ZipFault::Write(error.to_string());
    let year = u16::try_from(made_at.year()).unwrap_or_default();
    let part = |value: u32| u8::try_from(value).unwrap_or_default();
    let time = DateTime::from_date_and_time(
        year,
        part(made_at.month()),
        part(made_at.day()),
        part(made_at.hour()),
        part(made_at.minute()),
        part(made_at.second()),
    )
    // Outside the years that a zip can write: its own first day.
    .unwrap_or_default();
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (path, bytes) in files {
        let method = if path.ends_with(".pdf") { CompressionMethod::Stored } else { CompressionMethod::Deflated };
        let options =
            SimpleFileOptions::default().compression_method(method).last_modified_time(time).unix_permissions(0o644);
        writer.start_file(format!("{folder}/{path}"), options).map_err(failed)?;
        writer.write_all(bytes).map_err(|error| ZipFault::Write(error.to_string()))?;
    }
    writer.finish().map(Cursor::into_inner).map_err(failed)
}

/// Whether bytes are a zip, or were one: by the mark at the start or the one at the end.
pub fn is_zip(bytes: &[u8]) -> bool {
    let tail = &bytes[bytes.len().saturating_sub(66_000)..];
    bytes.starts_with(b"PK\x03\x04") || tail.windows(4).any(|four| four == b"PK\x05\x06")
}

/// The folder and the files of a zip, by path within the folder.
///
/// # Errors
/// [`ZipFault`]; nothing is written anywhere.
pub fn unzip(bytes: &[u8]) -> Result<(String, BTreeMap<String, Vec<u8>>), ZipFault> {
    let failed = |error: zip::result::ZipError| ZipFault::Read(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(failed)?;
    if archive.len() > MOST_FILES {
        return Err(ZipFault::TooLarge(format!("{} files", archive.len())));
    }
    let mut folder: Option<String> = None;
    let mut files = BTreeMap::new();
    let mut left = MOST_BYTES;
    for index in 0..archive.len() {
        let mut entry = archive.by_index(index).map_err(failed)?;
        let name = entry.name().map_err(failed)?.into_owned();
        let shown = || crate::units::number::shortened(&name.escape_debug().to_string());
        if entry.is_symlink() || !is_plain(name.strip_suffix('/').unwrap_or(&name)) {
            return Err(ZipFault::Name(shown()));
        }
        if entry.is_dir() {
            continue;
        }
        let Some((top, path)) = name.split_once('/') else { return Err(ZipFault::Folder(shown())) };
        if folder.get_or_insert_with(|| top.to_owned()) != top {
            return Err(ZipFault::Folder(shown()));
        }
        // The size that it claims is not to be trusted: reading stops at what is left.
        let mut content = Vec::new();
        (&mut entry).take(left + 1).read_to_end(&mut content).map_err(|error| ZipFault::Read(error.to_string()))?;
        left = left
            .checked_sub(content.len() as u64)
            .ok_or_else(|| ZipFault::TooLarge(format!("more than {} MiB", MOST_BYTES >> 20)))?;
        if files.insert(path.to_owned(), content).is_some() {
            return Err(ZipFault::Twice(shown()));
        }
    }
    folder.map(|folder| (folder, files)).ok_or_else(|| ZipFault::Read("it is empty".to_owned()))
}

/// A path that stays where it is put, on every system.
pub(super) fn is_plain(path: &str) -> bool {
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}
