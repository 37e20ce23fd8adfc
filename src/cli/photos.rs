//! Photos that a person gives: found, checked, stored beside the database.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};

use chrono_tz::Tz;
use indicatif::ProgressBar;

use super::failure::Failure;
use super::files::exists;
use super::prompts::screen::progress;
use crate::day::{Photo, Value};
use crate::photos::{Kept, KeptError, PhotoSort};
use crate::plain::count;
use crate::record::{Entry, EntryId};
use crate::units::number::shortened;

/// Fewer than this are done before a bar could be read.
const FOR_A_BAR: usize = 4;

impl From<KeptError> for Failure {
    fn from(error: KeptError) -> Self {
        match error {
            KeptError::Changed(_) => Self::input(error),
            KeptError::Disk { .. } => Self::machine(error),
        }
    }
}

/// A bar for so many photos, hidden where they are few.
pub fn bar(what: &str, photos: usize) -> ProgressBar {
    let bar = if photos >= FOR_A_BAR { progress(what) } else { ProgressBar::hidden() };
    bar.set_length(photos as u64);
    bar
}

/// Shows how many photos are kept beside the database; nothing where they are few.
pub fn keeping_bar() -> impl FnMut(usize, usize) + Send {
    let mut shown = None;
    move |done, all| {
        let shown = shown.get_or_insert_with(|| bar("Keeping photos", all));
        shown.set_position(done as u64);
        if done == all {
            shown.finish_and_clear();
        }
    }
}

/// The photos that entries name and that are kept beside them, each with the id of the first entry to name it.
pub type Named = BTreeMap<(String, PhotoSort), EntryId>;

/// The photos that these entries name.
pub fn named<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Named {
    let mut photos = Named::new();
    for entry in entries {
        for (sha256, sort) in entry.body.photos() {
            photos.entry((sha256.to_owned(), sort)).or_insert_with(|| entry.id());
        }
    }
    photos
}

/// What came of copying photos.
#[derive(Debug, Default)]
pub struct Copied {
    /// How many are new there.
    pub new: usize,
    /// The ids of the entries whose photos are neither here nor there, or are not what the entries name.
    pub missing: Vec<EntryId>,
}

/// Copies photos from beside one file to beside another, each checked against its digest, and flushes them to the disk.
/// One that is missing or damaged stays missing: `verify` names it in either place.
pub fn copy(from: &Path, to: &Path, photos: &Named) -> Result<Copied, Failure> {
    copy_between(&Kept::beside(from), &Kept::beside(to), photos)
}

/// What came of one photo.
pub enum Came {
    /// It was there already.
    There,
    /// It is new there.
    New,
    /// It is neither here nor there.
    Missing,
}

/// The same from one folder of originals to another.
pub fn copy_between(from: &Kept, to: &Kept, photos: &Named) -> Result<Copied, Failure> {
    let bar = bar("Copying photos", photos.len());
    let each = photos.iter().map(|((sha256, sort), entry)| {
        bar.inc(1);
        if to.has(sha256, *sort) {
            return Ok((Came::There, entry));
        }
        if !from.has(sha256, *sort) {
            return Ok((Came::Missing, entry));
        }
        to.keep(&from.place(sha256, *sort), sha256, *sort)?;
        Ok((Came::New, entry))
    });
    let copied = gathered(each.collect::<Result<Vec<_>, Failure>>()?);
    bar.finish_and_clear();
    if copied.new > 0 {
        to.sync()?;
    }
    Ok(copied)
}

/// What came of all of them, each with the entry that names it.
pub fn gathered<'e>(photos: impl IntoIterator<Item = (Came, &'e EntryId)>) -> Copied {
    let mut copied = Copied::default();
    for (came, entry) in photos {
        match came {
            Came::There => {}
            Came::New => copied.new += 1,
            Came::Missing => copied.missing.push(entry.clone()),
        }
    }
    copied.missing.sort();
    copied
}

impl Copied {
    /// A sentence about those that are missing beside `from`, or nothing.
    pub fn note(&self, from: &Path) -> Option<String> {
        /// So many are named; of more, how many.
        const NAMED: usize = 5;
        let from = from.display();
        let listed = |ids: &[EntryId]| ids.iter().map(EntryId::to_string).collect::<Vec<_>>().join(", ");
        let (some, rest) = self.missing.split_at(self.missing.len().min(NAMED));
        Some(match (some, rest.len()) {
            ([], _) => return None,
            ([one], _) => format!("The photo of entry {one} is not beside {from}."),
            (some, 0) => format!("{} photos are not beside {from}: of entries {}.", some.len(), listed(some)),
            (some, more) => {
                let (all, more) = (some.len() + more, count(more, "other"));
                format!("{all} photos are not beside {from}: of entries {} and {more}.", listed(some))
            }
        })
    }
}

/// Checks a photo; of a folder, the newest photo in it. `zone` is the site's, for cameras that give no offset.
pub fn take(path: &Path, zone: Tz) -> Result<Photo, Failure> {
    let about = |why: String| Failure::input(format!("{}: {why}", path.display()));
    let data = std::fs::metadata(path).map_err(|error| about(format!("can't be read: {error}")))?;
    if data.is_dir() {
        return take(&newest_in(path)?, zone);
    }
    if !data.is_file() {
        return Err(about("is not a regular file".to_owned()));
    }
    let file = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    if file.chars().any(char::is_control) {
        return Err(about("has a control character in its name".to_owned()));
    }
    Photo::looked_over(path, file, zone).map_err(|error| about(error.to_string()))
}

/// The newest photo of a folder, by the time that its file was last written; of equal ones the last by name.
fn newest_in(folder: &Path) -> Result<PathBuf, Failure> {
    let unread = |error: std::io::Error| Failure::input(format!("{}: can't be read: {error}", folder.display()));
    let mut newest = None;
    for entry in std::fs::read_dir(folder).map_err(unread)? {
        let entry = entry.map_err(unread)?;
        // Phones keep what was thrown away under names that begin with a dot.
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        let path = entry.path();
        if hidden || !path.is_file() || !begins_as_photo(&path) {
            continue;
        }
        let written = entry.metadata().and_then(|data| data.modified()).map_err(unread)?;
        newest = newest.max(Some((written, path)));
    }
    newest.map(|(_, path)| path).ok_or_else(|| {
        let what = format!("{}: there is no photo in this folder (JPEG, PNG, WebP or HEIC)", folder.display());
        Failure::input(what)
    })
}

fn begins_as_photo(path: &Path) -> bool {
    let mut first = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(64).read_to_end(&mut first));
    read.is_ok() && PhotoSort::of(&first).is_some()
}

/// The answer to a question for a photo: a file, or a folder whose newest photo is meant.
pub fn photo_answer(key: &str, value: &str, zone: Tz) -> Result<Value, Failure> {
    let path = Path::new(value.trim());
    if value.trim().is_empty() || !exists(path) {
        return Err(Failure::input_hint(
            format!("{key}: there is no file '{}'", shortened(value)),
            "give the photo's file, or a folder to take its newest photo",
        ));
    }
    Ok(Value::File(Box::new(take(path, zone)?)))
}

/// The answer to a question for a batch: a photo of the label, if there is a file of that name, or the words.
pub fn batch_answer(value: &str, zone: Tz) -> Result<Value, Failure> {
    let path = Path::new(value.trim());
    if path.is_file() { Ok(Value::File(Box::new(take(path, zone)?))) } else { Ok(Value::Typed(value.to_owned())) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn photos_that_are_missing_are_counted() {
        let note = |missing: usize| {
            let missing = (1..=missing).map(|seq| EntryId::new("a", seq as u64)).collect();
            Copied { new: 0, missing }.note(Path::new("a.jsonl"))
        };
        assert_eq!(note(0), None);
        assert_eq!(note(1).unwrap(), "The photo of entry a-1 is not beside a.jsonl.");
        assert_eq!(note(2).unwrap(), "2 photos are not beside a.jsonl: of entries a-1, a-2.");
        assert_eq!(
            note(6).unwrap(),
            "6 photos are not beside a.jsonl: of entries a-1, a-2, a-3, a-4, a-5 and 1 other."
        );
    }
}
