//! Reading a zip that may come from anybody, so that it does no harm.

use std::cell::Cell;
use std::collections::BTreeSet;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;

use zip::{ZipArchive, ZipReadOptions};

use super::contents::Contents;
use crate::digest::copy_hashed;
use crate::handover::model::Blob;
use crate::handover::model::paths::{MANIFEST, RECORD, is_plain};
use crate::handover::signature::{PUBLIC_KEY, SIGNATURE};

/// More files than any pack has.
const MOST_FILES: usize = 50_000;

/// More bytes than any pack has, unpacked.
pub const MOST_BYTES: u64 = 16_000_000_000;

/// More bytes than the list of that many files has, read a few times over.
const MOST_LIST: u64 = 20_000_000;

/// More bytes than a record has.
pub(super) const MOST_RECORD: u64 = 1_000_000_000;

/// More bytes than a manifest of that many files has.
const MOST_MANIFEST: u64 = 32_000_000;

/// More bytes than a signature or a key has.
const MOST_KEY: u64 = 10_000;

/// Text and drawings shrink to a hundredth at the very most, and only a run of one short thing over and over to less
/// than a four-hundredth: a distance of 64 bytes or more takes DEFLATE 6 bits for no more than 258 bytes (RFC 1951).
const MOST_GROWTH: u64 = 400;

/// The same of what is held in memory: each entry of a record has 32 bytes of hash that nothing shrinks.
const MOST_GROWTH_HELD: u64 = 100;

/// What is small enough not to ask how it grew.
const SMALL: u64 = 1_000_000;

/// Why a zip is not a pack. Names are shortened, and shown so that no terminal obeys them.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ZipError {
    /// It can't be read.
    #[error("the zip can't be read: {0}")]
    Read(String),
    /// Its end is not there: the list of its files stands there.
    #[error("the zip can't be read: it is cut short or damaged, for the list of its files is not at its end")]
    Cut,
    /// None of its files is a manifest.
    #[error("is not a pack: it has no {MANIFEST}")]
    NoPack,
    /// One file of it can't be read.
    #[error("{0} in the zip can't be read: {1}")]
    File(String, String),
    /// A name that leads out of the folder, or is not a plain name.
    #[error(
        "the zip has an entry named {0}, which leads out of its folder or is not a plain path: nothing in it was used"
    )]
    Name(String),
    /// A link, a device or the like.
    #[error("{0} in the zip is a link or a device, not a regular file: nothing in it was used")]
    Link(String),
    /// An encrypted file.
    #[error("{0} in the zip is encrypted; a pack never is: nothing in it was used")]
    Encrypted(String),
    /// Entries outside the one folder.
    #[error("the entries of the zip are not in one folder: {0}")]
    Folder(String),
    /// The same name twice.
    #[error("the zip has two entries named {0}")]
    Twice(String),
    /// Two names that differ by capitals only.
    #[error(
        "the zip has {0} twice, differing only by capitals: unpacked, one would be written over the other on some systems"
    )]
    Capitals(String),
    /// Too many files or bytes.
    #[error("the zip unpacks to more than a pack can hold: {0}")]
    TooLarge(String),
    /// The list at the end and the place that it points to say different things.
    #[error("the list at the end of the zip and the place that it names for {0} do not agree: {1}")]
    Heads(String, String),
}

/// Whether bytes are a zip, or were one: by the mark at the start or the one at the end.
pub fn is_zip(bytes: &[u8]) -> bool {
    let tail = &bytes[bytes.len().saturating_sub(66_000)..];
    bytes.starts_with(b"PK\x03\x04") || tail.windows(4).any(|four| four == b"PK\x05\x06")
}

/// The folder and the files of a zip in memory.
///
/// # Errors
/// [`ZipError`]; nothing is written anywhere.
pub fn unzip(bytes: &[u8]) -> Result<(String, Contents), ZipError> {
    let mut contents = Contents::default();
    let folder = walk(Cursor::new(bytes), &mut |path, _, content| contents.take(path, content))?;
    Ok((folder, contents))
}

/// The same of a zip on the disk: what need not be in memory stays there until it is wanted.
///
/// # Errors
/// [`ZipError`]; nothing is written anywhere.
pub fn open_zip(place: &Path) -> Result<(String, Contents), ZipError> {
    let unread = |error: std::io::Error| ZipError::Read(error.to_string());
    let file = std::fs::File::open(place).map_err(unread)?;
    let mut contents = Contents::default();
    let folder = walk(std::io::BufReader::new(file), &mut |path, index, content| {
        if most_in_memory(path).is_some() {
            return contents.take(path, content);
        }
        let (bytes, sha256) = copy_hashed(content, &mut std::io::sink())?;
        let place = place.to_owned();
        let read = move || -> std::io::Result<Vec<u8>> {
            let file = std::io::BufReader::new(std::fs::File::open(&place)?);
            let mut archive = ZipArchive::new(file).map_err(std::io::Error::other)?;
            let mut content = Vec::new();
            let entry = archive.by_index(index).map_err(std::io::Error::other)?;
            entry.take(bytes + 1).read_to_end(&mut content)?;
            Ok(content)
        };
        contents.files.insert(path.to_owned(), Blob::OnDisk { sha256, bytes, read: Arc::new(read) });
        Ok(())
    })?;
    Ok((folder, contents))
}

/// How many bytes of a file of a pack may be in memory while it is checked, or `None`: then only its hash is taken, and
/// it is left where it is.
pub fn most_in_memory(path: &str) -> Option<u64> {
    match path {
        RECORD => Some(MOST_RECORD),
        MANIFEST => Some(MOST_MANIFEST),
        SIGNATURE | PUBLIC_KEY => Some(MOST_KEY),
        _ => None,
    }
}

/// What is done with a file of a zip: its path, its place in the zip, its content.
type Each<'e> = dyn FnMut(&str, usize, &mut dyn Read) -> std::io::Result<()> + 'e;

/// Goes through the files of a zip; gives the folder that they lie in.
///
/// Everything that the zip says of itself is looked at before anything in it is unpacked.
fn walk<R: Read + Seek>(from: R, each: &mut Each<'_>) -> Result<String, ZipError> {
    let failed = |error: zip::result::ZipError| ZipError::Read(error.to_string());
    let left = Cell::new(MOST_LIST);
    let mut archive = ZipArchive::new(Bounded { from, left: &left }).map_err(|error| match left.get() {
        0 => ZipError::TooLarge("the list of its files alone is longer than that of any pack".to_owned()),
        _ if matches!(error, zip::result::ZipError::InvalidArchive(_)) => ZipError::Cut,
        _ => failed(error),
    })?;
    // The list is read; what follows has bounds of its own.
    left.set(u64::MAX);
    if archive.len() > MOST_FILES {
        return Err(ZipError::TooLarge(format!("{} files", archive.len())));
    }
    if archive.has_duplicate_names() {
        let list_at = archive.central_directory_start();
        let name = named_twice(archive.into_inner(), list_at).ok().flatten();
        return Err(ZipError::Twice(name.unwrap_or_else(|| "one of its files".to_owned())));
    }
    let has_manifest = || archive.file_names().flatten().any(|name| name.rsplit('/').next() == Some(MANIFEST));
    let (folder, listed) = match listed(&archive) {
        Err(ZipError::Folder(_)) if !has_manifest() => return Err(ZipError::NoPack),
        listed => listed?,
    };
    agree(&mut archive, &listed)?;
    for Listed { index, name, path, size } in &listed {
        let unread = |what: String| ZipError::File(shown(name), what);
        // Reading stops where a file goes on behind the size that it claims, and fails where its sum does not fit.
        let mut content =
            Counted { from: archive.by_index(*index).map_err(|error| unread(error.to_string()))?, read: 0 };
        each(path, *index, &mut content).map_err(|error| unread(error.to_string()))?;
        if content.read != *size {
            return Err(unread(format!("it has {} bytes, and the zip says {size}", content.read)));
        }
    }
    Ok(folder)
}

/// A file as the list at the end of a zip has it.
struct Listed {
    index: usize,
    /// The whole name.
    name: String,
    /// The name within the folder.
    path: String,
    /// Bytes, unpacked.
    size: u64,
}

/// The folder and the files that a zip lists, if all of them may be in a pack.
fn listed<R: Read + Seek>(archive: &ZipArchive<R>) -> Result<(String, Vec<Listed>), ZipError> {
    let failed = |error: zip::result::ZipError| ZipError::Read(error.to_string());
    let mut folder: Option<String> = None;
    let mut names = BTreeSet::new();
    let mut listed = Vec::new();
    let mut left = MOST_BYTES;
    for index in 0..archive.len() {
        let entry = archive.by_index_data(index).map_err(failed)?;
        let name = entry.name().map_err(failed)?.into_owned();
        // Some programs go by one form of the name, others by another.
        if entry.name_raw() != name.as_bytes() || !is_plain(name.strip_suffix('/').unwrap_or(&name)) {
            return Err(ZipError::Name(shown(&name)));
        }
        if !entry.unix_mode().is_none_or(|mode| matches!(mode & 0o170_000, 0 | 0o100_000 | 0o040_000)) {
            return Err(ZipError::Link(shown(&name)));
        }
        if entry.encrypted() {
            return Err(ZipError::Encrypted(shown(&name)));
        }
        if entry.is_dir() {
            continue;
        }
        let Some((top, path)) = name.split_once('/') else { return Err(ZipError::Folder(shown(&name))) };
        // A desktop packs this folder beside the one that was meant: its files keep their whole names.
        let path = if top == "__MACOSX" { name.as_str() } else { path };
        if top != "__MACOSX" && folder.get_or_insert_with(|| top.to_owned()) != top {
            return Err(ZipError::Folder(shown(&name)));
        }
        if !names.insert(path.to_lowercase()) {
            return Err(ZipError::Capitals(shown(&name)));
        }
        let (size, packed, path) = (entry.size(), entry.compressed_size(), path.to_owned());
        let most = most_in_memory(&path);
        let growth = if most.is_some() { MOST_GROWTH_HELD } else { MOST_GROWTH };
        if size > most.unwrap_or(MOST_BYTES) || size > SMALL.max(packed.saturating_mul(growth)) {
            return Err(ZipError::TooLarge(format!("{}, {size} bytes packed into {packed}", shown(&name))));
        }
        left = left.checked_sub(size).ok_or_else(|| {
            ZipError::TooLarge(format!("from {} on, more than {} GB", shown(&name), MOST_BYTES / 1_000_000_000))
        })?;
        listed.push(Listed { index, name, path, size });
    }
    Ok((folder.ok_or_else(|| ZipError::Read("it is empty".to_owned()))?, listed))
}

/// Whether the list at the end says what stands at the places that it names: no byte belongs to two files, and no file
/// lies there that the list leaves out.
fn agree<R: Read + Seek>(archive: &mut ZipArchive<R>, listed: &[Listed]) -> Result<(), ZipError> {
    let Err(error) = archive.validate_header_consistency() else { return Ok(()) };
    for one in listed {
        let options = ZipReadOptions::new().enforce_header_consistency(true);
        if let Err(error) = archive.by_index_with_options(one.index, options) {
            return Err(ZipError::Heads(shown(&one.name), error.to_string()));
        }
    }
    Err(ZipError::Read(error.to_string()))
}

/// A name that the list of a zip has twice: the reader keeps only one of the two (APPNOTE 4.3.12 has the form).
fn named_twice(mut from: impl Read + Seek, list_at: u64) -> std::io::Result<Option<String>> {
    let mut seen = BTreeSet::new();
    from.seek(SeekFrom::Start(list_at))?;
    loop {
        let mut head = [0; 46];
        from.read_exact(&mut head)?;
        if !head.starts_with(b"PK\x01\x02") {
            return Ok(None);
        }
        let length = |at: usize| u64::from(u16::from_le_bytes([head[at], head[at + 1]]));
        let mut name = Vec::new();
        (&mut from).take(length(28)).read_to_end(&mut name)?;
        std::io::copy(&mut (&mut from).take(length(30) + length(32)), &mut std::io::sink())?;
        if !seen.insert(name.clone()) {
            return Ok(Some(shown(&String::from_utf8_lossy(&name))));
        }
    }
}

/// A name from a zip, harmless and short.
fn shown(name: &str) -> String {
    crate::units::number::shortened(&name.escape_debug().to_string())
}

/// Reads no more than so many bytes in all.
struct Bounded<'l, R> {
    from: R,
    left: &'l Cell<u64>,
}

impl<R: Read> Read for Bounded<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.from.read(buffer)?;
        self.left.set(self.left.get().saturating_sub(read as u64));
        if self.left.get() == 0 { Err(std::io::Error::other("it is too long")) } else { Ok(read) }
    }
}

impl<R: Seek> Seek for Bounded<'_, R> {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.from.seek(to)
    }
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
