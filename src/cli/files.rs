//! Files that the program writes: whole or not at all.

use std::path::Path;

use super::Failure;

/// Writes a file by way of a part file beside it, so that it is never half there.
///
/// # Errors
/// [`Failure::Machine`] naming the file.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(".part");
    let part = path.with_file_name(name);
    let written = std::fs::write(&part, bytes).and_then(|()| std::fs::rename(&part, path));
    written.map_err(|error| {
        // What is left of it is of no use to anybody.
        let _ = std::fs::remove_file(&part);
        Failure::machine(format!("{}: can't be written: {error}", path.display()))
    })
}
