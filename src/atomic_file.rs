//! Files that are there whole or not at all: written beside their place, flushed to the disk, then named.

use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::{Builder, NamedTempFile};

/// What a file beside its place is called until it is whole; a few random letters follow.
pub const PREFIX: &str = ".part-";

/// No write takes this long.
const LEFT_AFTER: Duration = Duration::from_secs(60 * 60);

/// Who may read a new file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Whoever the user lets read new files (the umask).
    Default,
    /// The user alone, where the system knows users.
    Private,
}

/// A file on its way to its place. Dropped before it is committed, it leaves nothing behind.
#[derive(Debug)]
pub struct AtomicFile {
    file: NamedTempFile,
    target: PathBuf,
}

impl AtomicFile {
    /// Begins a file in the folder of `target`, which must exist.
    ///
    /// # Errors
    /// What the system says: no such folder, no permission, a full disk.
    pub fn create(target: &Path, access: Access) -> io::Result<Self> {
        let mut builder = Builder::new();
        builder.prefix(PREFIX);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = if access == Access::Private { 0o600 } else { 0o666 };
            builder.permissions(std::fs::Permissions::from_mode(mode));
        }
        #[cfg(not(unix))]
        let _ = access;
        Ok(Self { file: builder.tempfile_in(folder_of(target))?, target: target.to_owned() })
    }

    /// Gives the file its name; one that is there is replaced. Once this returns, it survives a power cut.
    ///
    /// # Errors
    /// What the system says. What was there is still there then, unless only the last flush failed: the new file is in
    /// its place, and a power cut may bring the old one back.
    pub fn commit(self) -> io::Result<()> {
        self.file.as_file().sync_all()?;
        self.file.persist(&self.target).map_err(|error| error.error)?;
        sync_folder(folder_of(&self.target))
    }

    /// As [`AtomicFile::commit`], but never over a file that is there: of two programs at once the first one's stays.
    ///
    /// # Errors
    /// [`io::ErrorKind::AlreadyExists`], or what else the system says.
    pub fn commit_new(self) -> io::Result<()> {
        self.file.as_file().sync_all()?;
        self.file.persist_noclobber(&self.target).map_err(|error| error.error)?;
        sync_folder(folder_of(&self.target))
    }

    /// As [`AtomicFile::commit`], for a crowd of files in one folder: their names last once [`sync_folder`] has been
    /// called for it.
    ///
    /// # Errors
    /// As [`AtomicFile::commit`].
    pub fn commit_unsynced(self) -> io::Result<()> {
        self.file.as_file().sync_all()?;
        self.file.persist(&self.target).map(|_| ()).map_err(|error| error.error)
    }

    /// Where it lies until it has its name, for writers that open files by name.
    pub fn path(&self) -> &Path {
        self.file.path()
    }
}

impl Write for AtomicFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.as_file_mut().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.as_file_mut().flush()
    }
}

/// Writes a file whole; one that is there is replaced.
///
/// # Errors
/// As [`AtomicFile::commit`].
pub fn write(target: &Path, access: Access, bytes: &[u8]) -> io::Result<()> {
    let mut file = AtomicFile::create(target, access)?;
    file.write_all(bytes)?;
    file.commit()
}

/// Removes what runs that were killed left in a folder on its way to a place: not touched for an hour, it goes nowhere
/// any more.
pub fn sweep(folder: &Path) {
    let old = |entry: &std::fs::DirEntry| {
        let touched = entry.metadata().and_then(|data| data.modified()).ok();
        touched.and_then(|at| at.elapsed().ok()).is_some_and(|since| since > LEFT_AFTER)
    };
    let parts = |entry: &std::fs::DirEntry| entry.file_name().as_encoded_bytes().starts_with(PREFIX.as_bytes());
    // What can't be listed or removed is in nobody's way.
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten().filter(|entry| parts(entry) && old(entry)) {
        let path = entry.path();
        let _ = if path.is_dir() { std::fs::remove_dir_all(path) } else { std::fs::remove_file(path) };
    }
}

/// Flushes a folder, with all folders in it, to the disk.
///
/// # Errors
/// What the system says.
pub fn sync_folders(folder: &Path) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            sync_folders(&entry.path())?;
        }
    }
    sync_folder(folder)
}

/// Makes the names in a folder survive a power cut, where the system can.
///
/// # Errors
/// What the system says.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        // A folder that may be written to and not read can't be opened for this.
        let Ok(folder) = File::open(folder) else { return Ok(()) };
        match folder.sync_all() {
            // Some network disks know no such thing.
            Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
            synced => synced,
        }
    }
    #[cfg(not(unix))]
    {
        let _ = folder;
        Ok(())
    }
}

/// The file that a path leads to through links; a path that is no link is given back as it is.
pub fn resolved(path: &Path) -> PathBuf {
    let mut real = path.to_owned();
    // More links than systems follow go in a ring.
    for _ in 0..40 {
        match std::fs::read_link(&real) {
            Ok(target) => real = folder_of(&real).join(target),
            Err(_) => break,
        }
    }
    real
}

/// A path with something put behind its last name: `job.db-wal` of `job.db`.
pub fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_os_string();
    name.push(ending);
    PathBuf::from(name)
}

/// The folder that a file lies in.
pub fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_is_not_committed_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("list.csv");
        write(&target, Access::Default, b"before").unwrap();
        let mut file = AtomicFile::create(&target, Access::Default).unwrap();
        file.write_all(b"half of wh").unwrap();
        drop(file);
        assert_eq!(std::fs::read(&target).unwrap(), b"before");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn of_two_new_files_of_one_name_the_first_stays() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("key");
        let mut files = [(); 2].map(|()| AtomicFile::create(&target, Access::Private).unwrap());
        files[0].write_all(b"first").unwrap();
        files[1].write_all(b"second").unwrap();
        let [first, second] = files;
        first.commit_new().unwrap();
        assert_eq!(second.commit_new().unwrap_err().kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(std::fs::read(&target).unwrap(), b"first");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_a_killed_run_left_is_swept_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let old = std::time::SystemTime::UNIX_EPOCH;
        for (name, is_old) in [(".part-old", true), (".part-new", false), ("old", true)] {
            std::fs::write(at(name), b"x").unwrap();
            if is_old {
                File::options().write(true).open(at(name)).unwrap().set_modified(old).unwrap();
            }
        }
        sweep(folder.path());
        let left: Vec<bool> = [".part-old", ".part-new", "old"].map(|name| at(name).exists()).to_vec();
        assert_eq!(left, [false, true, true]);
        sweep(&at("none"));
    }

    #[cfg(unix)]
    #[test]
    fn a_private_file_is_the_users_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("key");
        AtomicFile::create(&target, Access::Private).unwrap().commit().unwrap();
        assert_eq!(std::fs::metadata(&target).unwrap().permissions().mode() & 0o077, 0);
    }
}
