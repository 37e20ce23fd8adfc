//! A record that may be read and not written: reading commands answer with all of it, writing ones say why they can't.
//!
//! Modes don't bind root. There the program is run as nobody, where `setpriv` is at hand.

#![cfg(unix)]

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use super::fresh;
use crate::harness::not_tried;

/// Whether the modes of files bind whoever runs the tests.
fn modes_bind(folder: &Path) -> bool {
    let probe = folder.join("probe");
    std::fs::write(&probe, "x").unwrap();
    mode(&probe, 0o000);
    let bound = std::fs::read(&probe).is_err();
    std::fs::remove_file(&probe).unwrap();
    bound
}

fn mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}

/// A folder with a record, and one beside it that may be written to.
struct Place {
    _whole: tempfile::TempDir,
    folder: PathBuf,
    elsewhere: PathBuf,
    /// What to start the program with, for it to be bound by modes.
    before: &'static [&'static str],
    /// The program, where whoever runs it can reach it.
    program: PathBuf,
}

impl Place {
    /// With this many notes recorded; none where modes can't be made to bind.
    fn new(notes: usize) -> Option<Self> {
        let (whole, path) = fresh();
        mode(whole.path(), 0o755);
        let (folder, elsewhere) = (whole.path().join("site"), whole.path().join("elsewhere"));
        std::fs::create_dir(&folder).unwrap();
        std::fs::create_dir(&elsewhere).unwrap();
        std::fs::rename(&path, folder.join("job.db")).unwrap();
        let program = whole.path().join("cladlog");
        std::fs::copy(env!("CARGO_BIN_EXE_cladlog"), &program).unwrap();
        mode(&program, 0o755);
        mode(&elsewhere, 0o777);
        let before: &[&str] = if modes_bind(whole.path()) {
            &[]
        } else {
            const NOBODY: &[&str] = &["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"];
            let can = Command::new(NOBODY[0]).args(&NOBODY[1..]).arg("true").output();
            if !can.is_ok_and(|output| output.status.success()) {
                not_tried("modes don't bind root, and there is no setpriv here to be somebody else");
                return None;
            }
            NOBODY
        };
        let mut place = Self { _whole: whole, folder, elsewhere, before: &[], program };
        for number in 0..notes {
            let noted = place.run(&["note", "--on", "N", "--text", &format!("note {number}")]);
            assert!(noted.status.success(), "{noted:?}");
        }
        place.before = before;
        Some(place)
    }

    fn db(&self) -> PathBuf {
        self.folder.join("job.db")
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut line: Vec<&std::ffi::OsStr> = self.before.iter().map(std::ffi::OsStr::new).collect();
        line.push(self.program.as_os_str());
        let mut command = Command::new(line[0]);
        command
            .args(&line[1..])
            .env_clear()
            .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
            .env("HOME", &self.elsewhere)
            .args(["--db", "job.db", "--by", "Lea"])
            .args(args)
            .current_dir(&self.folder)
            .stdin(Stdio::null());
        loop {
            match command.output() {
                // A test beside this one started a program while our copy of it was still being written.
                Err(error) if error.kind() == std::io::ErrorKind::ExecutableFileBusy => std::thread::yield_now(),
                output => return output.unwrap(),
            }
        }
    }

    /// Every reading command answers with all that is recorded, and writes nothing into the folder.
    #[track_caller]
    fn reads_all(&self, entries: usize) {
        let before = self.listing();
        for list in [
            &["next"][..],
            &["log"],
            &["verify"],
            &["hold", "list"],
            &["defect", "list"],
            &["window", "list"],
            &["watch", "--once"],
            &["job", "list"],
            &["job", "show"],
        ] {
            let output = self.run(list);
            assert_eq!(output.status.code(), Some(0), "{list:?}: {output:?}");
        }
        let log = self.run(&["--json", "log"]);
        let log: serde_json::Value = serde_json::from_slice(&log.stdout).unwrap();
        assert_eq!(log["entries"].as_array().unwrap().len(), entries);
        let at = |name: &str| self.elsewhere.join(name).display().to_string();
        // The signature needs a key, and that is made beside the database unless another place is given.
        let key = at("crew.key");
        for (command, name) in [("export", "all.jsonl"), ("backup", "copy.db"), ("pack", "pack")] {
            let more: &[&str] = if command == "pack" { &["--interim", "--key", &key] } else { &[] };
            let output = self.run(&[&[command, &at(name)], more].concat());
            assert_eq!(output.status.code(), Some(0), "{command}: {output:?}");
        }
        let lines = std::fs::read_to_string(self.elsewhere.join("all.jsonl")).unwrap().lines().count();
        assert_eq!(lines, entries);
        let verified = self.run(&["verify", &at("copy.db")]);
        assert_eq!(verified.status.code(), Some(0), "{verified:?}");
        for made in ["all.jsonl", "copy.db"] {
            std::fs::remove_file(self.elsewhere.join(made)).unwrap();
        }
        std::fs::remove_dir_all(self.elsewhere.join("pack")).unwrap();
        std::fs::remove_file(self.elsewhere.join("pack.zip")).unwrap();
        assert_eq!(self.listing(), before);
    }

    /// Whatever would record says which file can't be written and what to do, and has written nothing.
    #[track_caller]
    fn refuses_to_write(&self) {
        let before = self.listing();
        for line in [&["note", "--on", "N", "--text", "x"][..], &["day", "open", "--crew", "Lea", "--talk", "x"]] {
            let output = self.run(line);
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(3), "{line:?}: {output:?}");
            assert!(output.stdout.is_empty(), "{output:?}");
            assert!(said.starts_with("cladlog: job.db: can't be written: "), "{said}");
            assert!(said.contains("get write access to the file and its folder"), "{said}");
        }
        assert_eq!(self.listing(), before);
    }

    /// Every file of the folder, with the hash of what is in it.
    fn listing(&self) -> Vec<(String, String)> {
        let mut files: Vec<(String, String)> = std::fs::read_dir(&self.folder)
            .unwrap()
            .map(|entry| entry.unwrap())
            .map(|entry| (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).unwrap()))
            // The index of the log is scratch, and a log without a byte says nothing: SQLite makes them to read.
            .filter(|(name, bytes)| !name.ends_with("-shm") && !bytes.is_empty())
            .map(|(name, bytes)| (name, cladlog::digest::sha256_hex(&bytes)))
            .collect();
        files.sort();
        files
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        // For the folder to be taken away.
        mode(&self.folder, 0o755);
    }
}

#[test]
fn a_file_that_may_only_be_read_is_read_and_says_that_it_cannot_be_written() {
    let Some(place) = Place::new(3) else { return };
    mode(&place.db(), 0o444);
    mode(&place.folder, 0o777);
    place.refuses_to_write();
    place.reads_all(4);
}

#[test]
fn a_folder_that_may_only_be_read_is_read_and_says_that_it_cannot_be_written() {
    let Some(place) = Place::new(3) else { return };
    for file in [0o444, 0o666] {
        mode(&place.folder, 0o755);
        mode(&place.db(), file);
        mode(&place.folder, 0o555);
        place.refuses_to_write();
        place.reads_all(4);
    }
}

/// A writer that was killed leaves what it had committed in the log beside the file: that is part of the record.
#[test]
fn what_a_killed_writer_left_in_the_log_is_read_too_or_said_to_be_out_of_reach() {
    let Some(place) = Place::new(1) else { return };
    let mut child = super::writer::start(&place.db());
    let mut lines = std::io::BufRead::lines(std::io::BufReader::new(child.stdout.take().unwrap()));
    let mut told = 0;
    while told < 3 {
        told += usize::from(super::writer::acknowledged(&lines.next().unwrap().unwrap()).is_some());
    }
    child.kill().unwrap();
    told += lines.map_while(Result::ok).filter_map(|line| super::writer::acknowledged(&line)).count();
    child.wait().unwrap();
    let log = place.folder.join("job.db-wal");
    assert!(std::fs::metadata(&log).unwrap().len() > 0);
    let whole = place.elsewhere.join("whole");
    std::fs::create_dir(&whole).unwrap();
    for end in ["", "-wal", "-shm"] {
        let name = format!("job.db{end}");
        std::fs::copy(place.folder.join(&name), whole.join(&name)).unwrap();
        mode(&place.folder.join(&name), 0o444);
    }
    // At most one more than was said: the one that it died of saying.
    let entries = cladlog::record::Store::read(&whole.join("job.db")).unwrap().entries("test").unwrap().len();
    assert!((2 + told..=3 + told).contains(&entries), "{entries}, {told}");
    mode(&place.folder, 0o555);
    place.refuses_to_write();
    place.reads_all(entries);
    // Without the index of the log nobody can read the log without writing beside it.
    mode(&place.folder, 0o755);
    std::fs::remove_file(place.folder.join("job.db-shm")).unwrap();
    mode(&place.folder, 0o555);
    for command in ["next", "log", "verify"] {
        let output = place.run(&[command]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(3), "{command}: {output:?}");
        assert!(said.starts_with("cladlog: job.db: "), "{said}");
        assert!(said.contains("job.db-wal"), "{said}");
    }
}

#[test]
fn a_file_that_may_not_even_be_read_says_so() {
    let Some(place) = Place::new(0) else { return };
    mode(&place.db(), 0o000);
    for line in [&["next"][..], &["log"], &["note", "--on", "N", "--text", "x"]] {
        let output = place.run(line);
        assert_eq!(output.status.code(), Some(3), "{line:?}: {output:?}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let cannot = if line[0] == "note" { "written" } else { "read" };
        assert!(said.starts_with(&format!("cladlog: job.db: can't be {cannot}: ")), "{said}");
        assert!(said.contains("\n  get "), "{said}");
    }
}

#[test]
fn what_is_written_into_a_folder_without_rights_names_it_and_leaves_nothing() {
    let Some(place) = Place::new(1) else { return };
    mode(&place.db(), 0o666);
    let shut = place.elsewhere.join("shut");
    std::fs::create_dir(&shut).unwrap();
    mode(&shut, 0o555);
    mode(&place.folder, 0o755);
    let key = place.elsewhere.join("crew.key").display().to_string();
    for (command, name) in [("export", "all.jsonl"), ("backup", "copy.db"), ("pack", "pack")] {
        let target = shut.join(name).display().to_string();
        let more: &[&str] = if command == "pack" { &["--interim", "--key", &key] } else { &[] };
        let output = place.run(&[&[command, target.as_str()], more].concat());
        assert_eq!(output.status.code(), Some(3), "{command}: {output:?}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains(&target) || said.contains(&shut.display().to_string()), "{command}: {said}");
        assert_eq!(std::fs::read_dir(&shut).unwrap().count(), 0, "{command}");
    }
    mode(&shut, 0o755);
    // A key can't be made beside a database that nothing may be written beside: where else is said.
    mode(&place.folder, 0o555);
    let output = place.run(&["pack", &place.elsewhere.join("pack").display().to_string(), "--interim"]);
    assert_eq!(output.status.code(), Some(3), "{output:?}");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.starts_with("cladlog: job.db.key: ") && said.contains("--key FILE"), "{said}");
}
