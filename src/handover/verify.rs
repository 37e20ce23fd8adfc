//! Whether a pack still says what it said, and what its record says.

use std::collections::{BTreeMap, BTreeSet};

use super::document::Document;
use super::manifest::{MANIFEST, Manifest};
use super::pack::{PDF, RECORD, files_of, has_pdf};
use super::zipped::is_plain;
use crate::day::Book;
use crate::digest::sha256_hex;
use crate::moment::Moment;
use crate::record::{Entry, EntryFault, LineFault, Link, check_chain};

/// What was found where a pack should be.
#[derive(Debug, Clone, Default)]
pub struct Contents {
    /// Files by their path in the pack, `/` between folders.
    pub files: BTreeMap<String, Vec<u8>>,
    /// What could not be read, or has no business there.
    pub failures: Vec<Failed>,
    /// The zip that they came from: its name, its bytes and the folder in it.
    pub zip: Option<(String, Vec<u8>, String)>,
}

/// One thing that does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failed {
    /// Id of the entry.
    pub entry: Option<String>,
    /// Path of the file.
    pub file: Option<String>,
    /// What is wrong.
    pub what: String,
}

/// What came of it.
#[derive(Debug, Clone, Default)]
pub struct Verified {
    /// How many entries were looked at.
    pub entries: u64,
    /// How many files.
    pub files: u64,
    /// What does not hold; nothing when all does.
    pub failures: Vec<Failed>,
    /// What could not be looked at, and why.
    pub notes: Vec<String>,
}

impl Failed {
    /// A failure of a file.
    pub fn file(path: &str, what: impl Into<String>) -> Self {
        Self { entry: None, file: Some(path.to_owned()), what: what.into() }
    }

    fn entry(id: String, what: impl Into<String>) -> Self {
        Self { entry: Some(id), file: Some(RECORD.to_owned()), what: what.into() }
    }
}

/// Checks a pack: the manifest, the hash of each file, files too many or too few, each entry and the chain; and
/// when all that holds, writes the pages, tables and drawings again from the record and compares the bytes.
pub fn verify(contents: &Contents) -> Verified {
    let mut verified =
        Verified { failures: contents.failures.clone(), files: contents.files.len() as u64, ..Verified::default() };
    let manifest = match contents.files.get(MANIFEST).map(|bytes| Manifest::open(bytes)) {
        Some(Ok(manifest)) => Some(manifest),
        Some(Err(fault)) => {
            verified.failures.push(Failed::file(MANIFEST, fault.to_string()));
            None
        }
        None => {
            verified.failures.push(Failed::file(MANIFEST, "it is not there"));
            None
        }
    };
    if let Some(manifest) = &manifest {
        check_files(manifest, &contents.files, &mut verified.failures);
    }
    let entries = match contents.files.get(RECORD) {
        Some(bytes) => check_record(bytes, &mut verified),
        None => {
            verified.failures.push(Failed::file(RECORD, "it is not there: there is no record to check"));
            Vec::new()
        }
    };
    // What has to be written again is compared only when every hash holds.
    if let Some(manifest) = manifest.filter(|_| verified.failures.is_empty()) {
        compare(&manifest, entries, contents, &mut verified);
    }
    verified
}

fn check_files(manifest: &Manifest, files: &BTreeMap<String, Vec<u8>>, failures: &mut Vec<Failed>) {
    let mut listed: BTreeSet<&str> = BTreeSet::from([MANIFEST]);
    for line in &manifest.files {
        if !is_plain(&line.path) || !listed.insert(&line.path) {
            failures.push(Failed::file(MANIFEST, format!("it lists '{}' wrongly or twice", line.path.escape_debug())));
            continue;
        }
        match files.get(&line.path) {
            None => failures.push(Failed::file(&line.path, "the manifest lists it, and it is not there")),
            Some(bytes) if bytes.len() as u64 != line.bytes => failures.push(Failed::file(
                &line.path,
                format!("it has {} bytes, the manifest says {}", bytes.len(), line.bytes),
            )),
            Some(bytes) if sha256_hex(bytes) != line.sha256 => {
                failures.push(Failed::file(&line.path, "it was changed: its SHA-256 is not the one in the manifest"));
            }
            Some(_) => {}
        }
    }
    let extra = files.keys().filter(|path| !listed.contains(path.as_str()));
    failures.extend(extra.map(|path| Failed::file(path, "it is not in the manifest")));
}

fn check_record(bytes: &[u8], verified: &mut Verified) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut links = Vec::new();
    for (index, line) in bytes.split_inclusive(|byte| *byte == b'\n').enumerate() {
        verified.entries += 1;
        match opened(line) {
            Ok(entry) => {
                links.push(Link::from(&entry));
                entries.push(entry);
            }
            Err(unopened) => {
                let LineFault { link, fault } = *unopened;
                let id = link.as_ref().map_or_else(|| format!("line {}", index + 1), |link| link.id.clone());
                verified.failures.push(Failed::entry(id, fault.to_string()));
                links.extend(link);
            }
        }
    }
    // Devices may lie between one another; each has its own chain, by its own numbers.
    links.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
    verified.failures.extend(check_chain(links).into_iter().map(|fault| Failed::entry(fault.id, fault.what)));
    entries
}

/// A line of record.jsonl as an entry.
fn opened(line: &[u8]) -> Result<Entry, Box<LineFault>> {
    let unreadable = |what: &str| Box::new(LineFault { link: None, fault: EntryFault::Unreadable(what.to_owned()) });
    let line =
        line.strip_suffix(b"\n").ok_or_else(|| unreadable("it has no line break at its end: it is cut short"))?;
    Entry::from_jsonl(std::str::from_utf8(line).map_err(|_| unreadable("it is not UTF-8"))?)
}

/// Writes everything again from the record and compares.
fn compare(manifest: &Manifest, entries: Vec<Entry>, contents: &Contents, verified: &mut Verified) {
    let fail = |verified: &mut Verified, path: &str, what: String| verified.failures.push(Failed::file(path, what));
    let Ok(made_at) = Moment::parse_from_rfc3339(&manifest.made_at) else {
        return fail(verified, MANIFEST, "'made_at' is not a time".to_owned());
    };
    let book = match Book::open(entries) {
        Ok(book) => book,
        Err(fault) if manifest.program == env!("CARGO_PKG_VERSION") => {
            return fail(verified, RECORD, fault.to_string());
        }
        Err(fault) => return verified.notes.push(format!("not compared with the record: {fault}")),
    };
    if manifest.program != env!("CARGO_PKG_VERSION") {
        return verified.notes.push(format!(
            "the pack was made by cladlog {}, this is {}: hashes and chain were checked, but pages, tables and \
             drawings were not written again; that takes the version that made them",
            crate::units::number::shortened(&manifest.program),
            env!("CARGO_PKG_VERSION")
        ));
    }
    let document = Document::of(&book, made_at);
    let files = match files_of(&document, &book, &mut |_| ()) {
        Ok(files) => files,
        Err(fault) => return fail(verified, RECORD, fault.to_string()),
    };
    let written: BTreeMap<&str, &Vec<u8>> = files.iter().map(|(path, bytes)| (path.as_str(), bytes)).collect();
    for (path, bytes) in &written {
        match contents.files.get(*path) {
            // A build without the PDF makes a whole pack without one.
            None if *path == PDF => {}
            None => fail(verified, path, "the record gives it, and it is not there".to_owned()),
            Some(found) if found != *bytes => fail(verified, path, "it does not say what the record says".to_owned()),
            Some(_) => {}
        }
    }
    for path in contents.files.keys().filter(|path| !written.contains_key(path.as_str()) && *path != MANIFEST) {
        if path == PDF && !has_pdf() {
            verified.notes.push("this build has no PDF: handover.pdf was checked by its hash only".to_owned());
        } else {
            fail(verified, path, "it is no part of the pack that the record gives".to_owned());
        }
    }
    let kept: Vec<(String, Vec<u8>)> =
        contents.files.iter().filter(|(path, _)| *path != MANIFEST).map(|(p, b)| (p.clone(), b.clone())).collect();
    match Manifest::of(&document, &kept) {
        Ok(expected) if expected == *manifest => {}
        Ok(_) => fail(verified, MANIFEST, "it does not say what the record says".to_owned()),
        Err(fault) => fail(verified, MANIFEST, fault.to_string()),
    }
    if let Some((name, bytes, folder)) = contents.zip.as_ref().filter(|_| verified.failures.is_empty()) {
        let all: Vec<(String, Vec<u8>)> = contents.files.iter().map(|(p, b)| (p.clone(), b.clone())).collect();
        if super::zip_of(folder, &all, &made_at).as_ref() != Ok(bytes) {
            let what =
                "the files in it hold, but the zip is not the one that was written: unpack it and verify the folder";
            fail(verified, name, what.to_owned());
        }
    }
}
