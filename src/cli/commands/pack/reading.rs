//! A copy for reading, with names withheld.

use std::path::Path;

use super::PackArgs;
use super::places::Places;
use crate::cli::failure::Failure;
use crate::cli::files::exists;
use crate::cli::out::Out;
use crate::day::Book;
use crate::handover::{Withheld, WithheldError};
use crate::moment::Moment;
use crate::photos::Kept;
use crate::plain::count;

/// Writes the copy: a new folder, there whole or not at all.
pub(super) fn write(
    args: &PackArgs,
    places: &Places,
    database: &Path,
    book: &Book,
    now: Moment,
    out: &mut Out,
) -> Result<(), Failure> {
    let folder = &places.folder;
    if exists(folder) {
        let what = format!("{}: already exists", folder.display());
        return Err(Failure::input_hint(what, "a copy for reading goes into a new folder"));
    }
    let originals = Kept::beside(database);
    let copy =
        Withheld::of(book, &args.withhold).and_then(|names| names.copy(book, now, &originals)).map_err(|error| {
            match error {
                WithheldError::Unknown(_) => Failure::input(error),
                other => Failure::machine(other),
            }
        })?;
    let begun = places.begin(args.over.readable)?;
    begun.write(&copy.files, &mut |_, _, _| ())?;
    begun.put()?;
    if out.is_json() {
        return out.json(&serde_json::json!({
            "folder": folder.display().to_string(),
            "complete": copy.complete,
            "rehearsal": copy.rehearsal,
            "withheld": copy.withheld,
            "files": copy.files.iter().map(|(path, _)| path).collect::<Vec<_>>(),
        }));
    }
    let names = count(copy.withheld, "name");
    out.wrapped(&format!("A copy for reading is in {}, with {names} withheld.", folder.display()), 2)?;
    out.wrapped(
        "The record names people and can't be changed, so it is not in the copy, and the copy can't be verified: keep \
         the whole pack beside it. First names alone in remarks are not caught, nor people who can be seen in photos: read it through.",
        2,
    )
}
