//! `cladlog verify` of a pack: a folder or a zip, read into what the library checks.

use std::io::{Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::cli::failure::Failure;
use crate::cli::files::first_bytes;
use crate::digest::copy_hashed;
use crate::handover::{
    Blob, Contents, Failed, MANIFEST, MOST_BYTES, RECORD, Verified, ZipError, ZipPlace, is_pdf, is_zip, most_in_memory,
    open_zip, verify, verify_pdf,
};

/// More bytes than a handover.pdf has.
const MOST_PDF: u64 = 2_000_000_000;

/// A folder, or a file that is a zip or is called one.
pub(super) fn is_pack(path: &Path) -> bool {
    let called = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
    path.is_dir() || path.is_file() && (called || first_bytes(path) == Some(*b"PK\x03\x04"))
}

/// The bytes of a PDF; `None` of a file that is none.
pub(super) fn pdf_of(path: &Path) -> Result<Option<Vec<u8>>, Failure> {
    let unread = |error: std::io::Error| Failure::machine(format!("{}: can't be read: {error}", path.display()));
    if !path.is_file() || !first_bytes::<5>(path).is_some_and(|head| is_pdf(&head)) {
        return Ok(None);
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(unread)?;
    if file.take(MOST_PDF + 1).read_to_end(&mut bytes).map_err(unread)? as u64 > MOST_PDF {
        return Err(Failure::input(format!("{}: is larger than any handover.pdf", path.display())));
    }
    Ok(Some(bytes))
}

/// Checks the record inside a handover.pdf.
pub(super) fn pdf(path: &Path, bytes: &[u8]) -> Result<Verified, Failure> {
    verify_pdf(bytes).map_err(|error| Failure::input(format!("{}: {error}", path.display())))
}

/// The text of the record in a pack.
pub(super) fn record_of(path: &Path) -> Result<String, Failure> {
    let unread =
        |why: &dyn std::fmt::Display| Failure::input(format!("{}: its record can't be read: {why}", path.display()));
    let bytes = if path.is_dir() {
        std::fs::read(path.join(RECORD)).map_err(|error| unread(&error))?
    } else {
        let (_, contents) = open_zip(path).map_err(|error| unread(&error))?;
        let record = contents.files.get(RECORD).ok_or_else(|| unread(&"it is missing"))?;
        record.read().map_err(|error| unread(&error))?.into_owned()
    };
    String::from_utf8(bytes).map_err(|_| unread(&"it is not UTF-8"))
}

/// Checks a pack.
pub(super) fn pack(path: &Path) -> Result<Verified, Failure> {
    let unread = |error: std::io::Error| Failure::machine(format!("{}: can't be read: {error}", path.display()));
    let mut contents = Contents::default();
    if path.is_dir() {
        if std::fs::symlink_metadata(path.join(MANIFEST)).is_err() {
            return Err(Failure::input(format!("{}: {}", path.display(), ZipError::NoPack)));
        }
        let mut left = MOST_BYTES;
        gather(path, "", &mut left, &mut contents).map_err(unread)?;
    } else {
        if std::fs::metadata(path).map_err(unread)?.len() > MOST_BYTES {
            return Err(Failure::input(format!("{}: is larger than any pack", path.display())));
        }
        if !ends_as_zip(path).map_err(unread)? {
            return Err(Failure::input(format!("{}: is neither a pack nor a database", path.display())));
        }
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        match open_zip(path) {
            Ok((_, found)) if !found.files.contains_key(MANIFEST) && !found.files.contains_key(RECORD) => {
                return Err(Failure::input(format!("{}: {}", path.display(), ZipError::NoPack)));
            }
            Ok((folder, found)) => {
                contents = found;
                contents.zip = Some(ZipPlace { name, folder, place: path.to_owned() });
            }
            Err(error @ ZipError::NoPack) => return Err(Failure::input(format!("{}: {error}", path.display()))),
            Err(error) => {
                let failures = vec![Failed::file(&name, error.to_string())];
                return Ok(Verified { failures, ..Verified::default() });
            }
        }
    }
    Ok(verify(&contents))
}

/// Reads a folder of a pack; what is no plain file is a failure, and is not followed.
fn gather(folder: &Path, within: &str, left: &mut u64, contents: &mut Contents) -> std::io::Result<()> {
    let mut names: Vec<_> = std::fs::read_dir(folder)?.collect::<Result<_, _>>()?;
    names.sort_by_key(std::fs::DirEntry::file_name);
    for entry in names {
        let name = format!("{within}{}", entry.file_name().to_string_lossy());
        let kind = entry.file_type()?;
        let fails = |contents: &mut Contents, what: &str| contents.failures.push(Failed::file(&name, what));
        if kind.is_dir() {
            gather(&entry.path(), &format!("{name}/"), left, contents)?;
        } else if !kind.is_file() {
            fails(contents, "not a regular file, so it was not read");
        } else {
            let size = entry.metadata()?.len();
            match left.checked_sub(size) {
                None => fails(contents, "with it the folder is larger than any pack: it was not read"),
                Some(rest) => {
                    *left = rest;
                    match read(entry.path(), &name, contents) {
                        Ok(()) => {}
                        Err(error) => fails(contents, &format!("it can't be read: {error}")),
                    }
                }
            }
        }
    }
    Ok(())
}

/// Takes a file in: most stay on the disk, and only their hashes are taken.
fn read(place: PathBuf, name: &str, contents: &mut Contents) -> std::io::Result<()> {
    let mut file = std::fs::File::open(&place)?;
    if let Some(most) = most_in_memory(name) {
        let mut bytes = Vec::new();
        if (&mut file).take(most + 1).read_to_end(&mut bytes)? as u64 > most {
            return Err(std::io::Error::other("it is larger than that of any pack"));
        }
        contents.files.insert(name.to_owned(), bytes.into());
        return Ok(());
    }
    let (bytes, sha256) = copy_hashed(&mut file, &mut std::io::sink())?;
    let read = Arc::new(move || std::fs::read(&place));
    contents.files.insert(name.to_owned(), Blob::OnDisk { sha256, bytes, read });
    Ok(())
}

/// Whether a file has the marks of a zip at its start or its end.
fn ends_as_zip(path: &Path) -> std::io::Result<bool> {
    let mut file = std::fs::File::open(path)?;
    let length = file.metadata()?.len();
    let mut ends = Vec::new();
    (&mut file).take(4).read_to_end(&mut ends)?;
    file.seek(SeekFrom::Start(length.saturating_sub(66_000)))?;
    file.read_to_end(&mut ends)?;
    Ok(is_zip(&ends))
}
