//! The folder of originals: beside the database, each file named by its SHA-256, private to its owner.

use std::path::{Path, PathBuf};

use super::format::{MOST_BYTES, PhotoSort};
use crate::atomic_file::{Access, AtomicFile, folder_of, resolved, sync_folder, with_ending};
use crate::digest::copy_hashed;

/// The folder of originals of one database: `FILE.photos` beside `FILE`.
#[derive(Debug, Clone)]
pub struct Kept {
    folder: PathBuf,
}

/// Why an original could not be kept or read.
#[derive(Debug, thiserror::Error)]
pub enum KeptError {
    /// The file that was to be kept is not the one that was looked over.
    #[error("{}: was changed while it was being recorded; record it again", .0.display())]
    Changed(PathBuf),
    /// The disk said no.
    #[error("{}: {what}: {why}", .path.display())]
    Disk {
        /// Which file.
        path: PathBuf,
        /// What was tried.
        what: &'static str,
        /// What the system said.
        why: std::io::Error,
    },
}

impl Kept {
    /// The folder that belongs to a database; it is made when the first original is kept.
    pub fn beside(database: &Path) -> Self {
        // One folder for one database, by whatever link it is opened.
        Self { folder: with_ending(&resolved(database), ".photos") }
    }

    /// A folder of originals that belongs to no one database.
    pub fn at(folder: &Path) -> Self {
        Self { folder: resolved(folder) }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Where the original of this digest lies, or would. What is no digest, as a record from elsewhere may have it,
    /// leads nowhere out of the folder.
    pub fn place(&self, sha256: &str, sort: PhotoSort) -> PathBuf {
        self.folder.join(format!("{}.{}", name_of(sha256), sort.ending()))
    }

    /// Copies a file in, whole or not at all; its name survives a power cut once [`Kept::sync`] has been called. One
    /// that is there already stays.
    ///
    /// # Errors
    /// [`KeptError`].
    pub fn keep(&self, from: &Path, sha256: &str, sort: PhotoSort) -> Result<(), KeptError> {
        let place = self.place(sha256, sort);
        let disk = |path: &Path, what: &'static str| {
            let path = path.to_owned();
            move |why: std::io::Error| KeptError::Disk { path, what, why }
        };
        if is_whole(&place, sha256) {
            return Ok(());
        }
        private_folder(&self.folder).map_err(disk(&self.folder, "the folder for photos can't be made"))?;
        let copied = || {
            let mut file = AtomicFile::create(&place, Access::Private)?;
            let (_, digest) = copy_hashed(&mut std::fs::File::open(from)?, &mut file)?;
            Ok((file, digest))
        };
        let (file, digest) = copied().map_err(disk(&place, "the photo can't be kept"))?;
        if digest != sha256 {
            return Err(KeptError::Changed(from.to_owned()));
        }
        file.commit_unsynced().map_err(disk(&place, "the photo can't be kept"))
    }

    /// Makes the names of what was kept survive a power cut.
    ///
    /// # Errors
    /// [`KeptError::Disk`].
    pub fn sync(&self) -> Result<(), KeptError> {
        let disk = |why| KeptError::Disk { path: self.folder.clone(), what: "can't be flushed to the disk", why };
        sync_folder(&self.folder).map_err(disk)
    }

    /// Whether the original is there with the bytes that its digest stands for.
    pub fn has(&self, sha256: &str, sort: PhotoSort) -> bool {
        is_whole(&self.place(sha256, sort), sha256)
    }
}

fn name_of(sha256: &str) -> &str {
    let is_digest = sha256.len() == 64 && sha256.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
    if is_digest { sha256 } else { "no-digest" }
}

fn is_whole(place: &Path, sha256: &str) -> bool {
    // Somebody else's folder may hold anything: what is no file, or larger than any photo, is not read.
    let is_photo = |data: std::fs::Metadata| data.is_file() && data.len() <= MOST_BYTES;
    std::fs::metadata(place).is_ok_and(is_photo)
        && std::fs::File::open(place)
            .and_then(|mut file| copy_hashed(&mut file, &mut std::io::sink()))
            .is_ok_and(|(_, found)| found == sha256)
}

fn private_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)?;
    // The folder's own name has to last, too.
    sync_folder(folder_of(folder))
}
