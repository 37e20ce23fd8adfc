//! Several programs on one file: nothing is lost, and nobody hears of a lock.

#![allow(clippy::print_stdout, reason = "how often it was tried")]

use std::process::Command;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use cladlog::record::Store;

use super::{fresh, rounds};

/// `CLADLOG_TOGETHER_SECONDS=60` is the long form.
#[test]
fn eight_record_and_eight_read_at_once() {
    let (folder, path) = fresh();
    let until = Instant::now() + Duration::from_secs(rounds("CLADLOG_TOGETHER_SECONDS", 3) as u64);
    let told: Mutex<Vec<String>> = Mutex::new(Vec::new());
    let run = |args: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_cladlog"))
            .env_clear()
            .args(["--db", "job.db", "--json", "--by", "Lea"])
            .args(args)
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(output.status.success(), "{args:?}: {output:?}");
        assert!(output.stderr.is_empty(), "{args:?}: {output:?}");
        output.stdout
    };
    std::thread::scope(|scope| {
        for number in 0..8 {
            let (told, run) = (&told, &run);
            scope.spawn(move || {
                while Instant::now() < until {
                    let said = run(&["note", "--on", "N", "--text", &format!("from {number}")]);
                    let said: serde_json::Value = serde_json::from_slice(&said).unwrap();
                    let id = said["entries"][0]["id"].as_str().unwrap().to_owned();
                    told.lock().unwrap().push(id);
                }
            });
        }
        let reads = [["next", "--all"], ["log", "--limit=5"], ["verify", "job.db"], ["defect", "list"]];
        for command in reads.into_iter().cycle().take(8) {
            let run = &run;
            scope.spawn(move || {
                while Instant::now() < until {
                    run(&command);
                }
            });
        }
    });
    let told = told.into_inner().unwrap();
    let store = Store::read(&path).unwrap();
    let ids: std::collections::BTreeSet<String> =
        store.entries("test").unwrap().iter().map(|entry| entry.id().to_string()).collect();
    assert!(told.iter().all(|id| ids.contains(id)));
    // One for the job, and each acknowledged one once.
    assert_eq!(ids.len(), told.len() + 1);
    assert_eq!(store.verify().unwrap().1, []);
    println!("{} entries", told.len());
}
