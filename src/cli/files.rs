//! Files that the program writes: whole or not at all, and never over what is there unless that was asked for.

use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use clap::Args;

use super::Failure;

/// Whether a file that is there may be written over
#[derive(Debug, Default, Clone, Copy, Args)]
pub struct Over {
    /// Write over a file that is there already
    #[arg(long)]
    pub replace: bool,
}

impl Over {
    /// Stops before a file is written over that is there already, unless that was asked for. A folder or a device is
    /// never replaced.
    ///
    /// # Errors
    /// [`Failure::Input`] naming the file and what clears it.
    pub fn may_write(self, path: &Path) -> Result<(), Failure> {
        only_plain(path)?;
        if was_there(path) && !self.replace {
            return Err(Failure::input_hint(
                format!("{}: is there already", path.display()),
                "give another file, or write over the one that is there with --replace",
            ));
        }
        Ok(())
    }

    /// Writes a file, whole, if it may be written.
    ///
    /// # Errors
    /// [`Failure::Input`] when it is there already, [`Failure::Machine`] when it can't be written.
    pub fn write(self, path: &Path, bytes: &[u8]) -> Result<(), Failure> {
        self.may_write(path)?;
        write_whole(path, bytes)
    }
}

/// Writes a file by way of a part file beside it, so that it is never half there; one that is there is replaced.
///
/// # Errors
/// [`Failure`] naming the file.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    only_plain(path)?;
    let part = part_of(path);
    let put = || {
        let mut file = std::fs::File::create(&part)?;
        file.write_all(bytes)?;
        // On the disk before it takes the place of what was there.
        file.sync_all()?;
        std::fs::rename(&part, path)
    };
    let written = put();
    written.map_err(|error| {
        // What is left of it is of no use to anybody.
        let _ = std::fs::remove_file(&part);
        unwritten(path, &error)
    })
}

/// Stops before a folder, a device or the like is replaced.
fn only_plain(path: &Path) -> Result<(), Failure> {
    match std::fs::symlink_metadata(path) {
        Ok(there) if !there.is_file() && !there.is_symlink() => {
            Err(Failure::input(format!("{}: is not a plain file, so it is not replaced", path.display())))
        }
        _ => Ok(()),
    }
}

/// The file beside it, of a name that no other run of the program uses.
fn part_of(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".part-{}", std::process::id()));
    path.with_file_name(name)
}

/// Whether anything is there, a link that leads nowhere included.
pub fn was_there(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok()
}

/// Why a file can't be written, in plain words, and what clears it.
pub fn unwritten(path: &Path, error: &std::io::Error) -> Failure {
    let (why, hint) = match error.kind() {
        ErrorKind::StorageFull => ("the disk is full", "make room on it, or write to another disk"),
        ErrorKind::QuotaExceeded => {
            ("this user's share of the disk is full", "make room in it, or write to another disk")
        }
        ErrorKind::FileTooLarge => ("this disk or this user may not have a file as large", "write to another disk"),
        ErrorKind::PermissionDenied => ("this user may not write there", "write to a folder of your own"),
        ErrorKind::ReadOnlyFilesystem => ("it is on a disk that can only be read", "write to another disk"),
        ErrorKind::NotADirectory => ("what should be a folder on the way to it is a file", "write to another folder"),
        ErrorKind::NotFound => ("there is no such folder", "make it first, or write to another"),
        _ => return Failure::machine(format!("{}: can't be written: {error}", path.display())),
    };
    let what = format!("{}: can't be written: {why}", path.display());
    Failure::Machine { what, hint: Some(hint.to_owned()) }
}
