//! Where a pack goes, and how it gets there: whole, or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::atomic_file::{Access, AtomicFile, PREFIX, folder_of, sweep, sync_folder, sync_folders};
use crate::cli::failure::Failure;
use crate::cli::files::{access, exists, unwritten};
use crate::handover::{Blob, MANIFEST, Progress, zip_into};
use crate::moment::Moment;

/// Where the pack goes.
pub(super) struct Places {
    name: String,
    /// The folder.
    pub folder: PathBuf,
    /// The zip of it.
    pub zip: PathBuf,
}

impl Places {
    /// The places for a folder as it was typed.
    pub fn of(folder: &Path) -> Result<Self, Failure> {
        // Without the slash that a shell's completion leaves at the end.
        let folder: PathBuf = folder.components().collect();
        let name = folder.file_name().and_then(|name| name.to_str()).filter(|name| !name.contains(['\\', ':']));
        let Some(name) = name.map(str::to_owned) else {
            let what = format!("{}: can't be the name of a pack: give a new folder, such as pack", folder.display());
            return Err(Failure::input(what));
        };
        let zip = folder.with_file_name(format!("{name}.zip"));
        Ok(Self { name, folder, zip })
    }

    /// Stops before what is there is written over, unless that was asked for and it is a pack.
    pub fn refuse_existing(&self, replace: bool) -> Result<(), Failure> {
        if !exists(&self.folder) && !exists(&self.zip) {
            return Ok(());
        }
        if !replace {
            let at = if exists(&self.folder) { &self.folder } else { &self.zip };
            return Err(Failure::input_hint(
                format!("{}: already exists", at.display()),
                "give another folder, or replace the pack with --replace",
            ));
        }
        let plain = |path: &Path| std::fs::symlink_metadata(path).is_ok_and(|there| there.is_file());
        let is_pack = std::fs::symlink_metadata(&self.folder).is_ok_and(|there| there.is_dir())
            && self.folder.join(MANIFEST).is_file();
        for (path, is_one) in [(&self.folder, is_pack), (&self.zip, plain(&self.zip))] {
            if exists(path) && !is_one {
                return Err(Failure::input(format!("{}: is not a pack, so it is not replaced", path.display())));
            }
        }
        Ok(())
    }

    /// Makes the folder beside its place that the pack is written to first. Whoever has it can write there: that is
    /// known before the pack is built.
    pub fn begin(&self, readable: bool) -> Result<Begun<'_>, Failure> {
        let missing = |path: &&Path| !path.as_os_str().is_empty() && !exists(path);
        let parents = Parents(self.folder.ancestors().skip(1).take_while(missing).map(Path::to_owned).collect());
        let parent = folder_of(&self.folder);
        let part = std::fs::create_dir_all(parent).and_then(|()| {
            sweep(parent);
            temporary_folder(parent, PREFIX, readable)
        });
        Ok(Begun {
            places: self,
            access: access(readable),
            part: part.map_err(|error| unwritten(&self.folder, &error))?,
            zip: None,
            _parents: parents,
        })
    }
}

/// A new folder in another one, gone when it is dropped.
fn temporary_folder(parent: &Path, prefix: &str, readable: bool) -> std::io::Result<TempDir> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(if readable { 0o777 } else { 0o700 }));
    }
    #[cfg(not(unix))]
    let _ = readable;
    builder.tempdir_in(parent)
}

/// A pack on its way to its place. Dropped before it is there, it leaves nothing behind.
pub(super) struct Begun<'p> {
    places: &'p Places,
    access: Access,
    part: TempDir,
    zip: Option<AtomicFile>,
    /// Dropped last.
    _parents: Parents,
}

/// Folders above the pack that were made for it, the innermost first.
struct Parents(Vec<PathBuf>);

impl Drop for Parents {
    fn drop(&mut self) {
        for folder in &self.0 {
            // Only where it is empty.
            let _ = std::fs::remove_dir(folder);
        }
    }
}

impl Begun<'_> {
    /// Writes every file into the folder beside its place.
    pub fn write(&self, files: &[(String, Blob)], progress: &mut Progress<'_>) -> Result<(), Failure> {
        for (done, (path, blob)) in files.iter().enumerate() {
            progress("writing", done, files.len());
            let bytes = blob.read().map_err(|error| Failure::machine(format!("{path}: can't be read: {error}")))?;
            let place = self.part.path().join(path);
            let write = || {
                std::fs::create_dir_all(folder_of(&place))?;
                let mut file = std::fs::File::create(&place)?;
                file.write_all(&bytes)?;
                file.sync_all()
            };
            write().map_err(|error| unwritten(&self.places.folder.join(path), &error))?;
        }
        Ok(())
    }

    /// Writes the zip beside its place.
    pub fn write_zip(&mut self, files: &[(String, Blob)], made_at: &Moment) -> Result<(), Failure> {
        let failed = |error: std::io::Error| unwritten(&self.places.zip, &error);
        let file = AtomicFile::create(&self.places.zip, self.access).map_err(failed)?;
        let mut file = std::io::BufWriter::new(file);
        zip_into(&self.places.name, files, made_at, &mut file).map_err(failed)?;
        self.zip = Some(file.into_inner().map_err(|error| failed(error.into_error()))?);
        Ok(())
    }

    /// Puts the folder in its place, and the zip if one was written. Where that fails what was there goes back.
    pub fn put(self) -> Result<(), Failure> {
        let Places { folder, zip, .. } = self.places;
        let failed = |error: std::io::Error| unwritten(folder, &error);
        // Every file is flushed already; so is every name before the folder gets its own.
        sync_folders(self.part.path()).map_err(failed)?;
        let mut old = None;
        if exists(folder) {
            // Not swept: killed in this moment, it is the only pack there is.
            let aside = temporary_folder(folder_of(folder), ".old-", false).map_err(failed)?;
            std::fs::rename(folder, aside.path().join("pack")).map_err(failed)?;
            old = Some(aside);
        }
        let restore = |old: Option<TempDir>| {
            if let Some(aside) = old
                && std::fs::rename(aside.path().join("pack"), folder).is_err()
            {
                // It may be the only copy: it stays beside its place.
                let _ = aside.keep();
            }
        };
        if let Err(error) = std::fs::rename(self.part.path(), folder) {
            restore(old);
            return Err(failed(error));
        }
        if let Some(Err(error)) = self.zip.map(AtomicFile::commit) {
            let _ = std::fs::rename(folder, self.part.path());
            restore(old);
            return Err(unwritten(zip, &error));
        }
        sync_folder(folder_of(folder)).map_err(failed)
    }
}
