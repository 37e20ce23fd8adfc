//! The pack as a zip: written so that the same files give the same bytes, read so that no zip does harm.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;

use chrono::{Datelike, Timelike};
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

use super::blob::Blob;
use super::pictures::PHOTOS;
use super::verify::Contents;
use crate::digest::hex;
use crate::moment::Moment;

/// More files than any pack has.
const MOST_FILES: usize = 50_000;
/// More bytes than any pack has, unpacked.
pub const MOST_BYTES: u64 = 16_000_000_000;
/// More bytes than the files of a pack have that are no photos.
const MOST_HELD: u64 = 1_000_000_000;

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
/// [`ZipFault::Write`]: a file can't be read, or `give` fails.
pub fn zip_into(
    folder: &str,
    files: &[(String, Blob)],
    made_at: &Moment,
    give: &mut dyn FnMut(&[u8]) -> std::io::Result<()>,
) -> Result<(), ZipFault> {
    let failed = |error: zip::result::ZipError| ZipFault::Write(error.to_string());
    let halted = |error: std::io::Error| ZipFault::Write(error.to_string());
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
    let mut files = BTreeMap::new();
    let folder = walk(Cursor::new(bytes), &mut |path, _, content| {
        let mut held = Vec::new();
        content.read_to_end(&mut held)?;
        files.insert(path.to_owned(), held);
        Ok(())
    })?;
    Ok((folder, files))
}

/// The same of a zip on the disk: photos stay there until they are wanted.
///
/// # Errors
/// [`ZipFault`]; nothing is written anywhere.
pub fn open_zip(place: &Path) -> Result<(String, Contents), ZipFault> {
    let unread = |error: std::io::Error| ZipFault::Read(error.to_string());
    let file = std::fs::File::open(place).map_err(unread)?;
    let mut contents = Contents::default();
    let mut left = MOST_HELD;
    let folder = walk(std::io::BufReader::new(file), &mut |path, index, content| {
        if !path.starts_with(PHOTOS) {
            let mut held = Vec::new();
            content.take(left + 1).read_to_end(&mut held)?;
            left = left.checked_sub(held.len() as u64).ok_or_else(|| {
                let what = format!("it unpacks to more than a pack can hold: over {} MB", MOST_HELD / 1_000_000);
                std::io::Error::other(what)
            })?;
            contents.files.insert(path.to_owned(), held);
            return Ok(());
        }
        let mut hash = Sha256::new();
        let bytes = std::io::copy(content, &mut Hashing(&mut hash))?;
        let place = place.to_owned();
        let read = move || -> std::io::Result<Vec<u8>> {
            let file = std::io::BufReader::new(std::fs::File::open(&place)?);
            let mut archive = ZipArchive::new(file).map_err(std::io::Error::other)?;
            let mut content = Vec::new();
            let entry = archive.by_index(index).map_err(std::io::Error::other)?;
            entry.take(bytes + 1).read_to_end(&mut content)?;
            Ok(content)
        };
        let blob = Blob::Kept { sha256: hex(&hash.finalize()), bytes, read: Arc::new(read) };
        contents.photos.insert(path.to_owned(), blob);
        Ok(())
    })?;
    Ok((folder, contents))
}

/// Takes what is written into a hash.
pub(super) struct Hashing<'h>(pub &'h mut Sha256);

impl Write for Hashing<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// What is done with a file of a zip: its path, its place in the zip, its content.
type Each<'e> = dyn FnMut(&str, usize, &mut dyn Read) -> std::io::Result<()> + 'e;

/// Goes through the files of a zip; gives the folder that they lie in.
fn walk<R: Read + Seek>(from: R, each: &mut Each<'_>) -> Result<String, ZipFault> {
    let failed = |error: zip::result::ZipError| ZipFault::Read(error.to_string());
    let mut archive = ZipArchive::new(from).map_err(failed)?;
    if archive.has_duplicate_names() {
        return Err(ZipFault::Twice("one of its files".to_owned()));
    }
    if archive.len() > MOST_FILES {
        return Err(ZipFault::TooLarge(format!("{} files", archive.len())));
    }
    let mut folder: Option<String> = None;
    let mut names = std::collections::BTreeSet::new();
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
        if !names.insert(path.to_owned()) {
            return Err(ZipFault::Twice(shown()));
        }
        // The size that it claims is not to be trusted: reading stops at what is left.
        let mut counted = Counted { from: (&mut entry).take(left + 1), read: 0 };
        each(path, index, &mut counted).map_err(|error| ZipFault::Read(error.to_string()))?;
        left = left
            .checked_sub(counted.read)
            .ok_or_else(|| ZipFault::TooLarge(format!("more than {} GB", MOST_BYTES / 1_000_000_000)))?;
    }
    folder.ok_or_else(|| ZipFault::Read("it is empty".to_owned()))
}

struct Counted<R> {
    from: R,
    read: u64,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.from.read(buffer)?;
        self.read += read as u64;
        Ok(read)
    }
}

/// A path that stays where it is put, on every system.
pub(super) fn is_plain(path: &str) -> bool {
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && path.split('/').all(|part| !matches!(part, "" | "." | ".."))
}
