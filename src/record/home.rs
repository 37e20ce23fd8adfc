//! Where a file was last written. A copy of it is another file: it goes on in a book of its own, so that no two files give
//! the same numbers. To begin one too many costs nothing; what is the same file must only not seem another at every turn.

use std::path::Path;
use std::time::UNIX_EPOCH;

use rusqlite::{Connection, OptionalExtension, params};

use super::id::continued;
use super::rows::{head, jobs};
use crate::digest::sha256_hex;

/// The version of the file that knows where it lies.
const KNOWS: i64 = 4;

/// The mark of a file on a machine: a copy bears another, on the same disk or elsewhere, and so does a restored backup; a
/// file that is renamed or moved on its disk keeps it. Disks that give a file another number at each use (some USB sticks)
/// make it begin another book each time.
fn mark(path: &Path) -> Option<String> {
    let data = std::fs::metadata(path).ok()?;
    #[cfg(unix)]
    let number = std::os::unix::fs::MetadataExt::ino(&data);
    #[cfg(not(unix))]
    let number = 0;
    // Not the number of the disk: that may be another one after the next start.
    let born = data.created().ok().and_then(|born| born.duration_since(UNIX_EPOCH).ok()).unwrap_or_default();
    Some(sha256_hex(format!("{number} {} {}", born.as_nanos(), machine()).as_bytes()))
}

/// What tells this machine from one that a whole disk was copied to; empty where the system says nothing.
fn machine() -> String {
    let id =
        ["/etc/machine-id", "/var/lib/dbus/machine-id"].into_iter().find_map(|path| std::fs::read_to_string(path).ok());
    id.or_else(|| std::env::var("COMPUTERNAME").ok()).unwrap_or_default()
}

/// In a file that lies elsewhere than when it was last written, gives each job a new book to be gone on with.
pub(super) fn wake(connection: &Connection, path: &Path) -> rusqlite::Result<()> {
    let here = mark(path).unwrap_or_default();
    let there: Option<String> = connection.query_row("SELECT mark FROM home_line", [], |row| row.get(0)).optional()?;
    if there.as_ref() == Some(&here) {
        return Ok(());
    }
    for job in jobs(connection)? {
        // What holds nothing yet can be gone on with.
        if head(connection, &job.device)?.is_some() {
            let device = continued(&job.device);
            connection.execute("UPDATE job_line SET device = ?1 WHERE job = ?2", params![device, job.key])?;
        }
    }
    connection.execute("INSERT OR REPLACE INTO home_line (one, mark) VALUES (1, ?1)", [here]).map(|_| ())
}

/// Makes a copy of a file forget where it was written.
pub(super) fn leave(copy: &Connection) -> rusqlite::Result<()> {
    let version: i64 = copy.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if version < KNOWS { Ok(()) } else { copy.execute("DELETE FROM home_line", []).map(|_| ()) }
}
