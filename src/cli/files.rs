//! Files that a person asked for: an existing one is replaced only where that was asked for, too.

use std::io::{ErrorKind, Read};
use std::path::Path;

use clap::Args;

use super::failure::Failure;
use crate::atomic_file::{self, Access};

/// Whether an existing file may be replaced
#[derive(Debug, Default, Clone, Copy, Args)]
pub struct Overwrite {
    /// Replace what is there already
    #[arg(long)]
    pub replace: bool,
    /// Let other users of this machine read it
    #[arg(long)]
    pub readable: bool,
}

impl Overwrite {
    /// Stops before an existing file is replaced, unless that was asked for. A folder or a device is never replaced.
    pub fn may_write(self, path: &Path) -> Result<(), Failure> {
        only_regular(path)?;
        if exists(path) && !self.replace {
            return Err(Failure::input_hint(
                format!("{}: already exists", path.display()),
                "give another file, or replace this one with --replace",
            ));
        }
        Ok(())
    }

    /// Writes a file, whole, if it may be written.
    pub fn write(self, path: &Path, bytes: &[u8]) -> Result<(), Failure> {
        self.may_write(path)?;
        write_as(path, access(self.readable), bytes)
    }
}

/// Who may read what holds names and hours: the user alone, unless told otherwise.
pub fn access(readable: bool) -> Access {
    if readable { Access::Default } else { Access::Private }
}

/// Stops where anything is there already: what may be the only copy of something is never replaced.
pub fn must_be_new(path: &Path) -> Result<(), Failure> {
    if exists(path) {
        return Err(Failure::input_hint(format!("{}: already exists", path.display()), "give another name"));
    }
    Ok(())
}

/// Writes a file, whole or not at all; an existing one is replaced.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_as(path, Access::Default, bytes)
}

/// The same for a file that some may read.
pub fn write_as(path: &Path, access: Access, bytes: &[u8]) -> Result<(), Failure> {
    only_regular(path)?;
    atomic_file::write(path, access, bytes).map_err(|error| unwritten(path, &error))
}

/// Stops before a folder, a device or the like is replaced.
fn only_regular(path: &Path) -> Result<(), Failure> {
    match std::fs::symlink_metadata(path) {
        Ok(found) if !found.is_file() && !found.is_symlink() => {
            Err(Failure::input(format!("{}: is not a regular file, so it is not replaced", path.display())))
        }
        _ => Ok(()),
    }
}

/// The first bytes of a file; none where it is shorter or can't be read.
pub fn first_bytes<const N: usize>(path: &Path) -> Option<[u8; N]> {
    let mut first = [0; N];
    std::fs::File::open(path).ok()?.read_exact(&mut first).ok()?;
    Some(first)
}

/// Whether anything is there, a link that leads nowhere included.
pub fn exists(path: &Path) -> bool {
    std::fs::symlink_metadata(path).is_ok()
}

/// Why a file can't be written, in plain words, and what to do about it.
pub fn unwritten(path: &Path, error: &std::io::Error) -> Failure {
    let (why, hint) = match error.kind() {
        ErrorKind::StorageFull => ("the disk is full", "make room on it, or write to another disk"),
        ErrorKind::QuotaExceeded => ("your share of the disk is full", "make room in it, or write to another disk"),
        ErrorKind::FileTooLarge => ("the file would be too large for this disk", "write to another disk"),
        ErrorKind::PermissionDenied => ("you may not write there", "write to a folder of your own"),
        ErrorKind::ReadOnlyFilesystem => ("the disk is read-only", "write to another disk"),
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
            ("part of its path is a file, not a folder", "write to another folder")
        }
        ErrorKind::NotFound => ("there is no such folder", "make it first, or write to another"),
        _ => return Failure::machine(format!("{}: can't be written: {error}", path.display())),
    };
    Failure::machine_hint(format!("{}: can't be written: {why}", path.display()), hint)
}
