//! Runs the real binary in a cleared environment with a fixed clock.

#[cfg(feature = "office")]
pub mod crew;
pub mod drawing;
pub mod pictures;
pub mod site;

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What one run of the binary gave.
#[derive(Debug)]
pub struct Run {
    /// The exit code.
    pub code: i32,
    /// Everything on stdout.
    pub stdout: String,
    /// Everything on stderr.
    pub stderr: String,
}

impl Run {
    /// The one JSON document on stdout.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|error| panic!("stdout is not one JSON document: {error}\n{self:?}"))
    }

    /// Insists on an exit code and hands the run back.
    #[track_caller]
    pub fn exits(self, code: i32) -> Self {
        assert_eq!(self.code, code, "stdout: {}\nstderr: {}", self.stdout, self.stderr);
        self
    }
}

/// A folder of its own for one test, and the clock that its runs see.
pub struct Bench {
    folder: tempfile::TempDir,
    clock: RefCell<String>,
}

impl Bench {
    /// A new empty folder; the clock stands at `clock` (RFC 3339).
    pub fn at(clock: &str) -> Self {
        Self { folder: tempfile::tempdir().unwrap(), clock: RefCell::new(clock.to_owned()) }
    }

    /// A path inside the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file into the folder and gives its path.
    pub fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    /// Sets the clock for the runs that follow.
    pub fn set_clock(&self, clock: &str) {
        *self.clock.borrow_mut() = clock.to_owned();
    }

    /// The command, ready to run, with a cleared environment and the fixed clock.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cladlog"));
        command
            .env_clear()
            .env("CLADLOG_CLOCK", self.clock.borrow().as_str())
            .env("HOME", self.folder.path())
            .current_dir(self.folder.path())
            .stdin(Stdio::null());
        command
    }

    /// Runs the binary with these arguments.
    pub fn run<I, S>(&self, args: I) -> Run
    where
        I: IntoIterator<Item = S>,
        S: AsRef<std::ffi::OsStr>,
    {
        let output = self.command().args(args).output().unwrap();
        Run {
            code: output.status.code().unwrap_or(-1),
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// Says why something can't be tried on this machine. Where everything has to be, it fails: `.ci/run` sets
/// `CLADLOG_TRY_ALL`.
#[track_caller]
#[allow(clippy::print_stderr, reason = "whoever runs the tests by hand is told what was not tried")]
pub fn not_tried(why: &str) {
    assert!(std::env::var_os("CLADLOG_TRY_ALL").is_none(), "not tried: {why}");
    eprintln!("NOT TRIED: {why}");
}

/// The repository's root, for files that tests read.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The panel sequence as it shipped in November 2026: jobs that were set up with it hold it, and it reads as it did.
pub const EARLIER_PANELS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/sequence/panels-2026-11.toml");

/// A job file with that sequence instead of the one that ships now.
pub fn with_earlier_panels(job: &str) -> String {
    job.replacen("sequence = \"panels-on-clips\"", &format!("sequence = '{EARLIER_PANELS}'"), 1)
}
