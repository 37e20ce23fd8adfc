//! A backup made while others write is whole, and is all that a restore needs.

use std::io::{BufRead, BufReader};
use std::process::Command;

use cladlog::record::Store;

use super::{fresh, writer};

#[test]
fn a_backup_made_while_others_write_verifies_and_goes_on_after_a_restore() {
    let (folder, path) = fresh();
    let run = |args: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cladlog"));
        let output = command.env_clear().args(args).current_dir(folder.path()).output().unwrap();
        assert!(output.status.success(), "{args:?}: {output:?}");
    };
    let mut child = writer::start(&path);
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut told: Vec<(String, String)> = Vec::new();
    for copy in 0..3 {
        told.extend(lines.by_ref().map_while(Result::ok).filter_map(|line| writer::acknowledged(&line)).take(5));
        let name = format!("copy-{copy}.db");
        run(&["--db", "job.db", "backup", &name]);
        run(&["verify", &name]);
        let entries = Store::read(&folder.path().join(&name)).unwrap().entries("test").unwrap();
        // All that was acknowledged before the backup began is in it.
        for (id, hash) in &told {
            assert!(entries.iter().any(|entry| entry.id().to_string() == *id && entry.hash == *hash), "{id}");
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(folder.path().join(&name)).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
    }
    child.kill().unwrap();
    child.wait().unwrap();
    // Restored under another name, it is gone on with.
    std::fs::copy(folder.path().join("copy-2.db"), folder.path().join("restored.db")).unwrap();
    run(&["--db", "restored.db", "--by", "Lea", "note", "--on", "N", "--text", "gone on"]);
    run(&["verify", "restored.db"]);
}
