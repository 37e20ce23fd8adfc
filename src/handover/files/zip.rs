//! The zip of a pack: the same files give the same bytes.

use std::cell::RefCell;
use std::io::{Seek, SeekFrom, Write};
use std::rc::Rc;

use chrono::{Datelike, Timelike};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::handover::model::Blob;
use crate::moment::Moment;

/// Why a zip is no pack. Names are shortened, and shown so that no terminal obeys them.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ZipError {
    /// It can't be written.
    #[error("the zip can't be written: {0}")]
    Write(String),
    /// It can't be read.
    #[error("the zip can't be read: {0}")]
    Read(String),
    /// One file of it can't be read.
    #[error("{0} in the zip can't be read: {1}")]
    File(String, String),
    /// A name that leads out of the folder, or is no plain name.
    #[error(
        "the zip has an entry named {0}, which leads out of its folder or is no plain path: nothing of it was used"
    )]
    Name(String),
    /// A link, a device or the like.
    #[error("{0} in the zip is a link or a device and no plain file: nothing of it was used")]
    Link(String),
    /// An encrypted file.
    #[error("{0} in the zip is encrypted; a pack never is: nothing of it was used")]
    Encrypted(String),
    /// Entries outside the one folder.
    #[error("the entries of the zip do not lie in one folder: {0}")]
    Folder(String),
    /// The same name twice.
    #[error("the zip has two entries named {0}")]
    Twice(String),
    /// Two names that differ by capitals only.
    #[error(
        "the zip has {0} twice, with other capitals: unpacked, one would be written over the other on some systems"
    )]
    Capitals(String),
    /// Too many files or bytes.
    #[error("the zip unpacks to more than a pack can hold: {0}")]
    TooLarge(String),
    /// The list at the end and the place that it points to say different things.
    #[error("the list at the end of the zip and the place that it names for {0} do not agree: {1}")]
    Heads(String, String),
}

/// Zips files into one folder. Times come from `made_at`, names are in the order given.
///
/// # Errors
/// [`ZipError::Write`].
pub fn zip_of(folder: &str, files: &[(String, Vec<u8>)], made_at: &Moment) -> Result<Vec<u8>, ZipError> {
    let files: Vec<(String, Blob)> = files.iter().map(|(path, bytes)| (path.clone(), bytes.clone().into())).collect();
    let mut zip = Vec::new();
    zip_into(folder, &files, made_at, &mut |bytes| {
        zip.extend_from_slice(bytes);
        Ok(())
    })?;
    Ok(zip)
}

/// Zips files into one folder, as [`zip_of`] does, with no more than one file in memory; `give` takes the zip in
/// pieces, in their order.
///
/// # Errors
/// [`ZipError::Write`]: a file can't be read, or `give` fails.
pub fn zip_into(
    folder: &str,
    files: &[(String, Blob)],
    made_at: &Moment,
    give: &mut dyn FnMut(&[u8]) -> std::io::Result<()>,
) -> Result<(), ZipError> {
    let failed = |error: zip::result::ZipError| ZipError::Write(error.to_string());
    let halted = |error: std::io::Error| ZipError::Write(error.to_string());
    let made_at = made_at.instant();
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
    let window = Window::default();
    let mut writer = ZipWriter::new(window.clone());
    for (path, blob) in files {
        let packed = [".pdf", ".jpg", ".png", ".webp", ".heic"].iter().any(|ending| path.ends_with(ending));
        let method = if packed { CompressionMethod::Stored } else { CompressionMethod::Deflated };
        let options =
            SimpleFileOptions::default().compression_method(method).last_modified_time(time).unix_permissions(0o644);
        let before = window.end();
        writer.start_file(format!("{folder}/{path}"), options).map_err(failed)?;
        // The head of the file before is filled in only when the next one begins.
        window.give(before, give).map_err(halted)?;
        writer.write_all(&blob.read().map_err(halted)?).map_err(halted)?;
    }
    let whole = writer.finish().map_err(failed)?;
    whole.give(whole.end(), give).map_err(halted)
}

/// What of a zip is still being written: the writer goes back to fill in a head, but never behind the last file.
#[derive(Clone, Default)]
struct Window(Rc<RefCell<Held>>);

#[derive(Default)]
struct Held {
    /// How much was given away already.
    given: u64,
    bytes: Vec<u8>,
    /// Where the writer stands, from the beginning of the zip.
    at: u64,
}

impl Window {
    fn end(&self) -> u64 {
        let held = self.0.borrow();
        held.given + held.bytes.len() as u64
    }

    /// Gives away everything before a place.
    fn give(&self, upto: u64, give: &mut dyn FnMut(&[u8]) -> std::io::Result<()>) -> std::io::Result<()> {
        let mut held = self.0.borrow_mut();
        let count = usize::try_from(upto - held.given).unwrap_or(usize::MAX).min(held.bytes.len());
        give(&held.bytes[..count])?;
        held.bytes.drain(..count);
        held.given += count as u64;
        Ok(())
    }
}

impl Write for Window {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let mut held = self.0.borrow_mut();
        let behind = || std::io::Error::other("the zip was written behind what was given away");
        let from = held.at.checked_sub(held.given).and_then(|from| usize::try_from(from).ok()).ok_or_else(behind)?;
        let over = bytes.len().min(held.bytes.len().checked_sub(from).ok_or_else(behind)?);
        held.bytes[from..from + over].copy_from_slice(&bytes[..over]);
        held.bytes.extend_from_slice(&bytes[over..]);
        held.at += bytes.len() as u64;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl Seek for Window {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        let end = self.end();
        let mut held = self.0.borrow_mut();
        let at = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::End(by) => end.checked_add_signed(by),
            SeekFrom::Current(by) => held.at.checked_add_signed(by),
        };
        held.at = at.ok_or_else(|| std::io::Error::other("a place before the beginning of the zip"))?;
        Ok(held.at)
    }
}
