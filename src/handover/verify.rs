//! Whether a pack still says what it said, and what its record says.

use std::collections::BTreeSet;
use std::io::{BufReader, Read, Write};

use serde::Serialize;

use super::files::{
    Attached, AttachedError, Contents, Failed, FileLine, MOST_ATTACHED_LIST, Manifest, ZipPlace, attached,
    attached_list, zip_into,
};
use super::model::paths::{ATTACHED, ATTACHED_LIST, MANIFEST, PDF, PROGRAM, RECORD, is_left_by_desktop, is_plain};
use super::model::{Album, Blob, Document, Locations, PhotoState};
use super::pack::{Pages, has_pdf};
use super::signature::{PUBLIC_KEY, SIGNATURE, SignatureError, check_signature};
use crate::day::{Book, PhotoUse, StampRow, photos, stamps};
use crate::moment::Moment;
use crate::plain::visible;
use crate::record::{Entry, Fork, Link, assign_books, check_chain, lines, sound};
use crate::units::number::shortened;

/// What came of it.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Verified {
    /// How much was looked at.
    pub checked: Checked,
    /// What does not hold; nothing when all does.
    pub failures: Vec<Failed>,
    /// What could not be looked at, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// Fingerprint of the key whose signature holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signed_by: Option<String>,
}

/// How much was looked at.
#[derive(Debug, Clone, Copy, Default, Serialize)]
pub struct Checked {
    /// Entries.
    pub entries: u64,
    /// Files.
    pub files: u64,
}

impl Verified {
    /// Names edited sequences, and checks the time stamps that the record keeps.
    fn look_into(&mut self, book: &Book) {
        self.notes.extend(book.state.editions.iter().filter_map(|sequence| sequence.edited_in_words()));
        let (held, flawed) = stamps(book);
        self.notes.extend(held.iter().map(StampRow::to_check));
        self.failures.extend(flawed.into_iter().map(|(entry, flaw)| Failed::entry(entry.to_string(), flaw.in_words())));
    }
}

/// Checks a pack: the manifest and its signature, the hash of each file, files too many or too few, each entry and the
/// chain; and when all that holds, holds the photos against the record, writes the pages, tables and drawings again
/// from it and compares the bytes.
pub fn verify(contents: &Contents) -> Verified {
    let checked = Checked { entries: 0, files: contents.files.len() as u64 };
    let mut verified = Verified { failures: contents.failures.clone(), checked, ..Verified::default() };
    let manifest = match contents.in_memory(MANIFEST).map(Manifest::open) {
        Some(Ok(manifest)) => Some(manifest),
        Some(Err(error)) => {
            verified.failures.push(Failed::file(MANIFEST, error.to_string()));
            None
        }
        None => {
            verified.failures.push(Failed::file(MANIFEST, "missing"));
            None
        }
    };
    name_beside(contents, &mut verified.notes);
    if let Some(manifest) = &manifest {
        check_files(manifest, contents, &mut verified.failures);
    }
    check_signature_of(contents, &mut verified);
    let entries = match contents.in_memory(RECORD) {
        Some(bytes) => check_record(bytes, &mut verified),
        None => {
            verified.failures.push(Failed::file(RECORD, "missing: there is no record to check"));
            Vec::new()
        }
    };
    if let Some(manifest) = manifest.as_ref().filter(|manifest| manifest.entries as u64 != verified.checked.entries) {
        let what = format!("it has {} entries, the manifest says {}", verified.checked.entries, manifest.entries);
        verified.failures.push(Failed::file(RECORD, what));
    }
    // What has to be written again is compared only when every hash holds.
    if let Some(manifest) = manifest.filter(|_| verified.failures.is_empty()) {
        compare(&manifest, entries, contents, &mut verified);
    }
    verified
}

/// Checks the record inside a handover.pdf: each entry and the chain. Its pages are not written again: their photos and
/// drawings are in the pack only.
///
/// # Errors
/// [`AttachedError::None`] when there is no record in it.
pub fn verify_pdf(pdf: &[u8]) -> Result<Verified, AttachedError> {
    let mut verified = Verified { checked: Checked { entries: 0, files: 1 }, ..Verified::default() };
    let record = match attached(pdf) {
        Ok(record) => record,
        Err(none @ AttachedError::None) => return Err(none),
        Err(error) => {
            verified.failures.push(Failed::file(PDF, error.to_string()));
            return Ok(verified);
        }
    };
    let entries = check_record(&record, &mut verified);
    if verified.failures.is_empty() {
        match Book::open(entries) {
            Ok(book) => verified.look_into(&book),
            Err(error) => verified.failures.push(Failed::file(RECORD, error.to_string())),
        }
    }
    let what = "the record inside the PDF was checked; that the printed pages match it is checked with the whole pack";
    verified.notes.push(what.to_owned());
    Ok(verified)
}

/// Whether a file of a pack is none of its own: put there later, or left by a desktop.
fn is_beside(path: &str) -> bool {
    path.starts_with(ATTACHED) || is_left_by_desktop(path)
}

/// Names what is in a pack beside its own files: what was attached, each with its hash, and what desktops left.
fn name_beside(contents: &Contents, notes: &mut Vec<String>) {
    let list = contents.files.get(ATTACHED_LIST).filter(|list| list.len() <= MOST_ATTACHED_LIST);
    let list = list.and_then(|list| list.read().ok().map(|list| attached_list(&list))).unwrap_or_default();
    if list.is_empty() && contents.files.contains_key(ATTACHED_LIST) {
        notes.push(format!("{ATTACHED_LIST} names no file: it is not a list of what was attached"));
    }
    let is_of = |line: &Attached, path: &str| path.strip_prefix(ATTACHED).is_some_and(|name| line.is_named(name));
    for (path, blob) in contents.files.iter().filter(|(path, _)| is_beside(path) && *path != ATTACHED_LIST) {
        let shown = visible(path);
        notes.push(match list.iter().find(|line| is_of(line, path)) {
            _ if is_left_by_desktop(path) => format!("{shown} was left by a desktop; it is not part of the pack"),
            Some(line) if line.sha256 == blob.sha256() => {
                format!("{shown} was attached later, as '{}', SHA-256 {}", visible(&line.what), line.sha256)
            }
            Some(line) => format!("{shown} was CHANGED after it was attached as '{}'", visible(&line.what)),
            None => format!(
                "{shown} was put there later and is not in the list of attached files, SHA-256 {}",
                blob.sha256()
            ),
        });
    }
    let missing = list.iter().filter(|line| !contents.files.keys().any(|path| is_of(line, path)));
    notes.extend(missing.map(|line| format!("{ATTACHED}{} was attached and is MISSING", visible(line.name()))));
}

fn check_signature_of(contents: &Contents, verified: &mut Verified) {
    let part = |path: &str| contents.in_memory(path);
    match (part(MANIFEST), part(SIGNATURE), part(PUBLIC_KEY)) {
        (_, None, _) => verified.failures.push(Failed::file(SIGNATURE, "missing: the pack is not signed")),
        (_, _, None) => {
            verified.failures.push(Failed::file(PUBLIC_KEY, "missing: the signature can't be checked"));
        }
        (None, ..) => {}
        (Some(manifest), Some(signature), Some(key)) => match check_signature(manifest, signature, key) {
            Ok(fingerprint) => verified.signed_by = Some(fingerprint),
            Err(error @ SignatureError::Key) => verified.failures.push(Failed::file(PUBLIC_KEY, error.to_string())),
            Err(error @ SignatureError::Signature) => {
                verified.failures.push(Failed::file(SIGNATURE, error.to_string()));
                verified.failures.push(Failed::file(PUBLIC_KEY, "manifest.sig was not made with it"));
            }
        },
    }
}

fn check_files(manifest: &Manifest, contents: &Contents, failures: &mut Vec<Failed>) {
    let mut listed: BTreeSet<&str> = BTreeSet::from([MANIFEST, SIGNATURE, PUBLIC_KEY]);
    for line in &manifest.files {
        if !is_plain(&line.path) || !listed.insert(&line.path) {
            let path = line.path.escape_debug();
            failures.push(Failed::file(MANIFEST, format!("it lists '{path}' twice, or '{path}' is not a plain path")));
            continue;
        }
        match contents.len_and_hash(&line.path) {
            None => failures.push(Failed::file(&line.path, "listed in the manifest but missing")),
            Some((bytes, _)) if bytes != line.bytes => failures
                .push(Failed::file(&line.path, format!("it has {bytes} bytes, the manifest says {}", line.bytes))),
            Some((_, sha256)) if sha256 != line.sha256 => {
                failures.push(Failed::file(&line.path, "it was changed: its SHA-256 is not the one in the manifest"));
            }
            Some(_) => {}
        }
    }
    let extra = contents.files.keys().filter(|path| !listed.contains(path.as_str()) && !is_beside(path));
    failures.extend(extra.map(|path| Failed::file(path, "it is not in the manifest")));
}

fn check_record(bytes: &[u8], verified: &mut Verified) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut damaged = Vec::new();
    let mut found = Vec::new();
    for (name, read) in lines(bytes) {
        verified.checked.entries += 1;
        match read {
            Ok(entry) => entries.push(entry),
            Err(unread) => {
                let id = name.strip_prefix("entry ").unwrap_or(&name);
                found.push(Failed::entry(id.to_owned(), unread.error.to_string()));
                damaged.extend(unread.place);
            }
        }
    }
    match assign_books(&mut entries) {
        Ok(forks) => verified.notes.extend(forks.iter().map(Fork::in_words)),
        Err(error) => found.push(Failed::file(RECORD, error.to_string())),
    }
    let damaged = damaged.iter().map(|(device, seq)| Link { device, seq: *seq, hashes: None });
    // Devices may lie between one another; each has its own chain, by its own numbers.
    let mut links: Vec<Link<'_>> = damaged.chain(entries.iter().map(Link::from)).collect();
    links.sort_by_key(|link| (link.device, link.seq));
    found.extend(check_chain(links).into_iter().map(|error| Failed::entry(error.id, error.what)));
    // What holds entry by entry may still be no record of one job.
    if found.is_empty()
        && let Err(error) = sound(&entries)
    {
        found.push(Failed::file(RECORD, error.to_string()));
    }
    let more = found.len().saturating_sub(MOST_NAMED);
    found.truncate(MOST_NAMED);
    verified.failures.append(&mut found);
    if more > 0 {
        verified.failures.push(Failed::file(RECORD, format!("{more} more of its entries do not hold")));
    }
    entries
}

/// Writes everything again from the record and compares.
fn compare(manifest: &Manifest, entries: Vec<Entry>, contents: &Contents, verified: &mut Verified) {
    let Ok(made_at) = Moment::parse_from_rfc3339(&manifest.made_at) else {
        return verified.failures.push(Failed::file(MANIFEST, "'made_at' is not a time".to_owned()));
    };
    let book = match Book::open(entries) {
        Ok(book) => book,
        Err(error) if manifest.program == PROGRAM => {
            return verified.failures.push(Failed::file(RECORD, error.to_string()));
        }
        Err(error) => return verified.notes.push(format!("not compared with the record: {error}")),
    };
    verified.look_into(&book);
    if manifest.program != PROGRAM {
        return verified.notes.push(format!(
            "the pack was made by cladlog {}, this is {}: hashes and chain were checked, but pages, tables and \
             drawings were not written again; that takes the version that made them",
            shortened(&manifest.program),
            PROGRAM
        ));
    }
    let locations = if manifest.no_places { Locations::Withheld } else { Locations::Kept };
    let album = Album::of(&book, contents, locations, &mut |_, _| ());
    // A photo is named here, with the entry that it does not fit, before the pages that show it.
    verified.failures.extend(photos_changed(&book, &album, contents));
    let document = Document::of(&book, made_at, &album, verified.signed_by.clone());
    match Pages::of(&document, &album.files()).with_record(&album, &mut |_, _, _| ()) {
        Ok(files) => verified.failures.extend(files_changed(&files, contents)),
        Err(error) => return verified.failures.push(Failed::file(RECORD, error.to_string())),
    }
    if contents.len_and_hash(PDF).is_some() && !has_pdf() {
        verified.notes.push("this build has no PDF: handover.pdf was checked by its hash only".to_owned());
    }
    verified.failures.extend(manifest_changed(manifest, &document, &album, contents));
    let copies = document.photos.iter().filter(|photo| photo.state == PhotoState::Copy).count();
    if copies > 0 {
        verified.notes.push(format!(
            "the photos of this pack are copies without their locations: they fit the manifest, but only the originals \
             could be compared with the record ({copies} in all)"
        ));
    }
    // What somebody packed again with something beside it is another zip; its files were checked one by one.
    let is_repacked = contents.files.keys().any(|path| is_beside(path));
    if let Some(zip) = contents.zip.as_ref().filter(|_| verified.failures.is_empty() && !is_repacked)
        && !is_the_zip(zip, contents, &made_at)
    {
        let what = "the files in it hold, but the zip is not the one that was written: unpack it and verify the folder";
        verified.failures.push(Failed::file(&zip.name, what.to_owned()));
    }
}

/// Photos that are there, and are not those of the record.
fn photos_changed(book: &Book, album: &Album, contents: &Contents) -> Vec<Failed> {
    let failed = |photo: PhotoUse| {
        let picture = album.pictures.get(&photo.sha256)?;
        let what = "it is not the photo that this entry names, nor a copy of it without its location";
        let (entry, file) = (Some(photo.entry.to_string()), Some(picture.path.clone()));
        let is_changed = picture.state == PhotoState::Missing && contents.len_and_hash(&picture.path).is_some();
        is_changed.then(|| Failed { entry, file, what: what.to_owned() })
    };
    photos(book).into_iter().filter_map(failed).collect()
}

/// Paths of the files that the manifest lists.
fn listed(contents: &Contents) -> impl Iterator<Item = &str> {
    contents.files.keys().map(String::as_str).filter(|path| !UNLISTED.contains(path) && !is_beside(path))
}

/// Files that are not what was written again, and files that nothing wrote.
fn files_changed(written: &[(String, Blob)], contents: &Contents) -> Vec<Failed> {
    let changed = written.iter().filter_map(|(path, blob)| match contents.len_and_hash(path) {
        // A build without the PDF makes a whole pack without one.
        None if path == PDF => None,
        None => Some((path.as_str(), "missing, though the record calls for it")),
        Some(found) if found != (blob.len(), blob.sha256().into_owned()) => Some((path, "does not match the record")),
        Some(_) => None,
    });
    let known: BTreeSet<&str> = written.iter().map(|(path, _)| path.as_str()).collect();
    let strange = listed(contents).filter(|path| !known.contains(path) && (*path != PDF || has_pdf()));
    let strange = strange.map(|path| (path, "it is not part of the pack that the record gives"));
    changed.chain(strange).map(|(path, what)| Failed::file(path, what.to_owned())).collect()
}

/// The manifest, where it is not that of these files.
fn manifest_changed(
    manifest: &Manifest,
    document: &Document<'_>,
    album: &Album,
    contents: &Contents,
) -> Option<Failed> {
    let originals = album.originals();
    let line = |path: &str| {
        let (bytes, sha256) = contents.len_and_hash(path)?;
        let copy_of = originals.get(path).map(|original| (*original).to_owned());
        Some(FileLine { path: path.to_owned(), sha256, bytes, copy_of })
    };
    match Manifest::of(document, listed(contents).filter_map(line).collect()) {
        Ok(expected) if expected == *manifest => None,
        Ok(_) => Some(Failed::file(MANIFEST, "does not match the record".to_owned())),
        Err(error) => Some(Failed::file(MANIFEST, error.to_string())),
    }
}

/// Entries that are named one by one where they do not hold; of the rest only the number is given.
const MOST_NAMED: usize = 1000;

/// What the manifest does not list.
const UNLISTED: [&str; 3] = [MANIFEST, SIGNATURE, PUBLIC_KEY];

/// Whether a zip is, byte by byte, the one that the program writes of these files.
fn is_the_zip(zip: &ZipPlace, contents: &Contents, made_at: &Moment) -> bool {
    let files: Vec<(String, Blob)> = contents.files.clone().into_iter().collect();
    let Ok(file) = std::fs::File::open(&zip.place) else { return false };
    let mut there = SameAs(BufReader::new(file));
    let same = zip_into(&zip.folder, &files, made_at, &mut there);
    // And nothing after its end.
    same.is_ok() && there.0.read(&mut [0; 1]).is_ok_and(|read| read == 0)
}

/// Fails where something else is written than what it reads.
struct SameAs<R>(R);

impl<R: Read> Write for SameAs<R> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let mut found = vec![0; bytes.len()];
        self.0.read_exact(&mut found)?;
        if found == bytes { Ok(bytes.len()) } else { Err(std::io::Error::other("it is another zip")) }
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}
