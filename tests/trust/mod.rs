//! The record survives: kills, power cuts, full disks, other programs, older files, hostile text. docs/trust.md says
//! what each proves; the long forms are the same tests with a variable set.

mod backup;
pub mod copies;
pub mod disk;
mod foreign;
mod forged;
mod golden;
mod heads;
mod hostile;
mod hostile_pdf;
mod key;
mod kill;
mod kill_command;
mod merge;
mod modes;
pub mod mutate;
mod power;
mod replaced;
mod schema;
mod stamps;
mod together;
mod undo;
mod writer;

use std::path::PathBuf;

use crate::rules::site::JOB;

/// A small generator, so that every run tries the same.
pub struct Chance(pub u64);

impl Chance {
    /// A number below `end`.
    pub fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end.max(1)
    }
}

/// How often to try: the variable, or the short form that every run makes.
pub fn rounds(variable: &str, short: usize) -> usize {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(short)
}

/// A folder with a database that holds the test job, set up by the machine's clock.
pub fn fresh() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::copy(crate::harness::root().join("tests/rules/small.toml"), at("small.toml")).unwrap();
    std::fs::write(at("job.toml"), JOB).unwrap();
    let status = std::process::Command::new(env!("CARGO_BIN_EXE_cladlog"))
        .env_clear()
        .args(["--db", "job.db", "job", "add", "job.toml"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(status.status.success(), "{status:?}");
    let path = at("job.db");
    (folder, path)
}
