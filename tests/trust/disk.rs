//! A disk that is full, that can't be written, that fails at any one write: a message, exit 3, and the file still good.

#![cfg(unix)]

use std::path::Path;
use std::process::{Command, Output};

use cladlog::record::Store;

use super::{fresh, rounds};

fn note(folder: &Path, before: &str) -> Output {
    // The shell sets the limit, and ignores the signal that would end the program: then the write itself fails.
    let line = format!("{before} exec \"$0\" --db job.db --json --by Lea note --on N --text \"$1\"");
    Command::new("sh")
        .args(["-c", &line, env!("CARGO_BIN_EXE_cladlog"), &"a long note ".repeat(80)])
        .env_clear()
        .current_dir(folder)
        .output()
        .unwrap()
}

fn entries(path: &Path) -> usize {
    let store = Store::read(path).unwrap();
    assert_eq!(store.verify().unwrap().1, []);
    store.entries("test").unwrap().len()
}

/// Files may grow to N blocks of 512 bytes, for every N in turn: each write is the one that fails, once.
///
/// `CLADLOG_DISK_STEP=1` tries every block; the short form every 24th.
#[test]
fn whichever_write_fails_the_file_stays_good() {
    let (folder, path) = fresh();
    let whole = std::fs::read(&path).unwrap();
    let blocks = whole.len() / 512;
    let (mut failed, mut done) = (0, 0);
    for most in (0..blocks + 96).step_by(rounds("CLADLOG_DISK_STEP", 24)) {
        for end in ["job.db-wal", "job.db-shm"] {
            let _ = std::fs::remove_file(folder.path().join(end));
        }
        std::fs::write(&path, &whole).unwrap();
        let before = entries(&path);
        let output = note(folder.path(), &format!("trap '' XFSZ; ulimit -f {most};"));
        let stderr = String::from_utf8_lossy(&output.stderr);
        match output.status.code() {
            Some(0) => {
                done += 1;
                assert_eq!(entries(&path), before + 1, "{most}");
            }
            Some(3) => {
                failed += 1;
                assert!(stderr.starts_with("cladlog: job.db: "), "{most}: {output:?}");
                assert!(output.stdout.is_empty(), "{most}: {output:?}");
                assert_eq!(entries(&path), before, "{most}");
            }
            _ => panic!("{most}: {output:?}"),
        }
        // And goes on being written to once there is room.
        assert_eq!(note(folder.path(), "").status.code(), Some(0), "{most}");
    }
    assert!(failed > 2 && done > 0, "{failed} failed, {done} done");
}

/// A small disk of its own; it takes root to mount one.
pub struct SmallDisk(std::path::PathBuf);

impl SmallDisk {
    /// Mounts one of a size such as `512k`.
    pub fn mounted(at: &Path, size: &str) -> Self {
        std::fs::create_dir(at).unwrap();
        let mut mount = Command::new("mount");
        let output = mount.args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"]).arg(at).output().unwrap();
        assert!(output.status.success(), "no small disk can be mounted here: {output:?}");
        Self(at.to_owned())
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).output();
    }
}

#[test]
#[ignore = "mounts a small disk, which takes root: .ci/run runs it"]
fn a_small_disk_that_is_full_or_can_not_be_written_loses_nothing() {
    let (folder, path) = fresh();
    let at = folder.path().join("disk");
    let disk = SmallDisk::mounted(&at, "512k");
    std::fs::copy(&path, at.join("job.db")).unwrap();
    let mut written = entries(&at.join("job.db"));
    let full = loop {
        let output = note(&at, "");
        if output.status.code() != Some(0) {
            break output;
        }
        written += 1;
        assert!(written < 2000, "the disk never fills");
    };
    assert_eq!(full.status.code(), Some(3), "{full:?}");
    assert!(String::from_utf8_lossy(&full.stderr).contains("the disk is full: nothing was written"), "{full:?}");
    let reads = |command: &str| {
        let mut cladlog = Command::new(env!("CARGO_BIN_EXE_cladlog"));
        cladlog.env_clear().args(["--db", "job.db", command]).current_dir(&at).output().unwrap()
    };
    // What is there is still read, counted and whole.
    assert_eq!(reads("next").status.code(), Some(0));
    assert_eq!(reads("verify").status.code(), Some(0));
    assert_eq!(entries(&at.join("job.db")), written);
    let remounted = Command::new("mount").args(["-o", "remount,ro"]).arg(&disk.0).status().unwrap();
    assert!(remounted.success());
    for command in ["next", "log", "verify"] {
        let output = reads(command);
        assert_eq!(output.status.code(), Some(0), "{command}: {output:?}");
    }
    let output = note(&at, "");
    assert_eq!(output.status.code(), Some(3), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("job.db"), "{output:?}");
}
