//! Where a pack goes, and how it gets there: whole, or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::Failure;
use crate::cli::files::{unwritten, was_there};
use crate::handover::{Blob, MANIFEST, Told, zip_into};
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
    pub fn refuse_what_is_there(&self, replace: bool) -> Result<(), Failure> {
        if !was_there(&self.folder) && !was_there(&self.zip) {
            return Ok(());
        }
        if !replace {
            let at = if was_there(&self.folder) { &self.folder } else { &self.zip };
            return Err(Failure::input_hint(
                format!("{}: is there already", at.display()),
                "give another folder, or write over the pack that is there with --replace",
            ));
        }
        let plain = |path: &Path| std::fs::symlink_metadata(path).is_ok_and(|there| there.is_file());
        let is_pack = std::fs::symlink_metadata(&self.folder).is_ok_and(|there| there.is_dir())
            && self.folder.join(MANIFEST).is_file();
        for (path, is_one) in [(&self.folder, is_pack), (&self.zip, plain(&self.zip))] {
            if was_there(path) && !is_one {
                return Err(Failure::input(format!("{}: is not a pack, so it is not replaced", path.display())));
            }
        }
        Ok(())
    }

    /// Makes the folder beside its place that the pack is written to first. Whoever has it can write there: that is
    /// known before the pack is built.
    pub fn begin(&self) -> Result<Begun<'_>, Failure> {
        // A run that was killed may have left its own, and numbers of processes come again.
        let beside = |ending: &str, mark: &str| self.folder.with_file_name(format!("{}.{ending}-{mark}", self.name));
        let three = |mark: String| ["part", "part-zip", "old"].map(|ending| beside(ending, &mark));
        let mark = std::process::id();
        let free = |paths: &[PathBuf; 3]| !paths.iter().any(|path| was_there(path));
        let found = (0..1000).map(|again| three(format!("{mark}-{again}"))).find(free);
        let Some([part, part_zip, old]) = found else {
            let what = format!("{}: there is no free name beside it to write to first", self.folder.display());
            return Err(Failure::machine(what));
        };
        let missing = |path: &&Path| !path.as_os_str().is_empty() && !was_there(path);
        let parents = self.folder.ancestors().skip(1).take_while(missing).map(Path::to_owned).collect();
        let begun = Begun { places: self, part, part_zip, old, parents };
        std::fs::create_dir_all(&begun.part).map_err(|error| unwritten(&self.folder, &error))?;
        Ok(begun)
    }
}

/// A pack on its way to its place. Dropped before it is there, it leaves nothing behind.
pub(super) struct Begun<'p> {
    places: &'p Places,
    part: PathBuf,
    part_zip: PathBuf,
    old: PathBuf,
    /// Folders above that were not there before, the innermost first.
    parents: Vec<PathBuf>,
}

impl Begun<'_> {
    /// Writes every file into the folder beside its place.
    pub fn write(&self, files: &[(String, Blob)], told: &mut Told<'_>) -> Result<(), Failure> {
        for (done, (path, blob)) in files.iter().enumerate() {
            told("writing", done, files.len());
            let bytes = blob.read().map_err(|error| Failure::machine(format!("{path}: can't be read: {error}")))?;
            let place = self.part.join(path);
            let write = || {
                place.parent().map_or(Ok(()), std::fs::create_dir_all)?;
                std::fs::write(&place, bytes)
            };
            write().map_err(|error| unwritten(&self.places.folder.join(path), &error))?;
        }
        Ok(())
    }

    /// Writes the zip beside its place.
    pub fn write_zip(&self, files: &[(String, Blob)], made_at: &Moment) -> Result<(), Failure> {
        let failed = |error: std::io::Error| unwritten(&self.places.zip, &error);
        let mut file = std::io::BufWriter::new(std::fs::File::create(&self.part_zip).map_err(failed)?);
        let mut why = None;
        zip_into(&self.places.name, files, made_at, &mut |bytes| {
            file.write_all(bytes).inspect_err(|error| why = Some(std::io::Error::new(error.kind(), error.to_string())))
        })
        .map_err(|error| why.map_or_else(|| Failure::machine(error), failed))?;
        let file = file.into_inner().map_err(|error| failed(error.into_error()))?;
        file.sync_all().map_err(failed)
    }

    /// Puts the folder in its place, and the zip if one was written. Where that fails what was there goes back.
    pub fn put(self) -> Result<(), Failure> {
        let Places { folder, zip, .. } = self.places;
        let failed = |path: &Path, error: std::io::Error| unwritten(path, &error);
        let before = was_there(folder);
        if before {
            std::fs::rename(folder, &self.old).map_err(|error| failed(folder, error))?;
        }
        let back = || before.then(|| std::fs::rename(&self.old, folder));
        std::fs::rename(&self.part, folder).map_err(|error| {
            // If even that fails, it is still beside its place.
            let _ = back();
            failed(folder, error)
        })?;
        if was_there(&self.part_zip) {
            std::fs::rename(&self.part_zip, zip).map_err(|error| {
                let _ = std::fs::rename(folder, &self.part);
                let _ = back();
                failed(zip, error)
            })?;
        }
        let _ = std::fs::remove_dir_all(&self.old);
        Ok(())
    }
}

impl Drop for Begun<'_> {
    fn drop(&mut self) {
        // What is left of a failure is of no use to anybody.
        let _ = std::fs::remove_dir_all(&self.part);
        let _ = std::fs::remove_file(&self.part_zip);
        for parent in &self.parents {
            // Only where it is empty.
            let _ = std::fs::remove_dir(parent);
        }
    }
}
