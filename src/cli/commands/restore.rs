//! `cladlog restore`: a backup in the place of the database.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::verify::database::{database, photos_of};
use crate::cli::crew_key;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::photos::copy;
use crate::cli::site::Site;
use crate::plain::count;
use crate::record::{Store, StoreError};

/// Put a backup in the place of the database; what was there is kept beside it
#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The backup
    file: PathBuf,
}

/// What came of it.
#[derive(Debug, Serialize)]
struct Restored {
    /// The database.
    file: String,
    entries: u64,
    /// What was there before.
    #[serde(skip_serializing_if = "Option::is_none")]
    kept: Option<String>,
    /// How many entries that one has and the backup lacks; absent where it can't be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    only_in_kept: Option<usize>,
    #[serde(skip)]
    note: Option<String>,
}

pub fn run(args: &RestoreArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let from = args.file.as_path();
    let path = site.new_database()?;
    let real = |path: &Path| std::fs::canonicalize(path).ok();
    if real(from).is_some_and(|from| real(&path) == Some(from)) {
        return Err(Failure::input(format!("{}: is the database itself", from.display())));
    }
    let verified = database(from)?;
    // A photo that is missing or damaged is no reason to go without the record.
    if verified.failures.iter().any(|failed| failed.file.is_none()) {
        let what = format!("{}: did not verify, so it was not restored", from.display());
        return Err(Failure::input_hint(what, format!("to see what fails: cladlog verify {}", from.display())));
    }
    let backup = Store::read(from)?;
    let note = copy(from, &path, &photos_of(&backup)?)?.note(from);
    let kept = backup.restore_to(&path)?;
    if !crew_key::beside(&path).exists() {
        crew_key::copy(from, &path)?;
    }
    let only_in_kept = kept.as_ref().and_then(|kept| lacks(&backup, kept).ok());
    let restored = Restored {
        file: path.display().to_string(),
        entries: verified.checked.entries,
        kept: kept.map(|kept| kept.display().to_string()),
        only_in_kept,
        note,
    };
    if out.is_json() {
        return out.json(&restored);
    }
    restored.lines(from).iter().try_for_each(|line| out.wrapped(line, 2))
}

/// How many entries of another file a store lacks.
fn lacks(store: &Store, other: &Path) -> Result<usize, StoreError> {
    let hashes = |store: &Store| -> Result<HashSet<String>, StoreError> {
        Ok(store.all_entries()?.into_iter().map(|entry| entry.hash).collect())
    };
    Ok(hashes(&Store::read(other)?)?.difference(&hashes(store)?).count())
}

impl Restored {
    fn lines(&self, from: &Path) -> Vec<String> {
        let Self { file, entries, kept, only_in_kept, note } = self;
        let entries = count(usize::try_from(*entries).unwrap_or(usize::MAX), "entry");
        let mut lines = vec![format!("{file} now has the {entries} of {}.", from.display())];
        if let Some(kept) = kept {
            lines.push(format!("What was there before is kept as {kept}."));
            lines.extend(only_in_kept.filter(|lacking| *lacking > 0).map(|lacking| {
                let lacking = count(lacking, "entry");
                format!("It has {lacking} more than the backup. To bring those in: cladlog --db {file} merge {kept}")
            }));
            if only_in_kept.is_none() {
                lines.push("It can't be read as it is, so what it has more than the backup is not known.".to_owned());
            }
        }
        lines.extend(note.iter().map(|note| format!("Note: {note}")));
        lines
    }
}
