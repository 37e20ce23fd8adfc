//! A copy for reading, with names withheld.

use super::PackArgs;
use crate::cli::{Failure, Out};
use crate::day::Book;
use crate::handover::{Withheld, WithheldFault};
use crate::moment::Moment;

/// Writes the copy: a new folder, there whole or not at all.
pub(super) fn write(args: &PackArgs, book: &Book, now: Moment, out: &mut Out) -> Result<(), Failure> {
    let folder = &args.folder;
    if std::fs::symlink_metadata(folder).is_ok() {
        let what = format!("{}: is there already", folder.display());
        return Err(Failure::input_mend(what, "a copy for reading goes into a new folder"));
    }
    let copy =
        Withheld::of(book, &args.withhold).and_then(|names| names.copy(book, now)).map_err(|fault| match fault {
            WithheldFault::Unknown(_) => Failure::input(fault),
            other => Failure::machine(other),
        })?;
    let part = folder.with_file_name(format!(
        "{}.part-{}",
        folder.file_name().unwrap_or_default().to_string_lossy(),
        std::process::id()
    ));
    let write = || -> std::io::Result<()> {
        for (path, bytes) in &copy.files {
            let place = part.join(path);
            if let Some(parent) = place.parent() {
                std::fs::create_dir_all(parent)?;
            }
            std::fs::write(place, bytes)?;
        }
        std::fs::rename(&part, folder)
    };
    write().map_err(|error| {
        // What is left of a failure is of no use to anybody.
        let _ = std::fs::remove_dir_all(&part);
        Failure::machine(format!("{}: can't be written: {error}", folder.display()))
    })?;
    if out.is_json() {
        return out.json(&serde_json::json!({
            "folder": folder.display().to_string(),
            "complete": copy.document.complete,
            "rehearsal": copy.document.rehearsal,
            "withheld": copy.document.withheld,
            "files": copy.files.iter().map(|(path, _)| path).collect::<Vec<_>>(),
        }));
    }
    let many = copy.document.withheld;
    let names = if many == 1 { "1 name".to_owned() } else { format!("{many} names") };
    out.wrapped(&format!("A copy for reading is in {}, with {names} withheld.", folder.display()), 2)?;
    out.wrapped(
        "The record names people and can't be changed, so it is not in the copy, and the copy can't be verified: keep \
         the whole pack beside it. A first name alone in a remark is not found: look it through.",
        2,
    )
}
