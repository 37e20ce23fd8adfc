//! A file that was replaced while it was open: what was recorded in it is kept from being lost.

use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::error::{JournalError, Rescued};
use crate::atomic_file::{Access, AtomicFile};
use crate::day::Book;
use crate::record::{StoreError, jsonl};

/// Where an open file was replaced, saves the entries of a book beside it; any other error is given back.
pub fn rescue(error: StoreError, book: &Book) -> JournalError {
    match error {
        StoreError::Replaced(path) => {
            let rescued = save(&path, book);
            JournalError::Replaced { path, rescued }
        }
        other => other.into(),
    }
}

fn save(path: &Path, book: &Book) -> Rescued {
    match write_beside(path, jsonl(&book.entries).as_bytes()) {
        Ok(saved) => Rescued::Saved(saved),
        Err(error) => Rescued::Unsaved(error),
    }
}

/// Writes a new file beside a database: `FILE.saved.jsonl`, or with a number where there is one.
fn write_beside(path: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    for number in 1.. {
        let ending = if number == 1 { ".saved.jsonl".to_owned() } else { format!(".saved-{number}.jsonl") };
        let mut name = path.file_name().unwrap_or_default().to_os_string();
        name.push(ending);
        let target = path.with_file_name(name);
        let mut file = AtomicFile::create(&target, Access::Private)?;
        file.write_all(bytes)?;
        match file.commit_new() {
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            written => return written.map(|()| target),
        }
    }
    Err(ErrorKind::AlreadyExists.into())
}
