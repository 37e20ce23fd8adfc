//! The real command, killed at a random moment of its life: what it acknowledged is there, and of what it did not
//! acknowledge there is all or nothing.

#![allow(clippy::print_stdout, reason = "how often it was tried")]

use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use cladlog::record::Store;

use super::{Chance, fresh, rounds};

/// Lines that record, on the job of the tests; the last one writes an entry for each of four joints.
const LINES: &[&[&str]] = &[
    &["note", "--on", "N", "--text", "a note with a few words more to fill it"],
    &["reading", "--on", "E", "--air", "18", "--humidity", "60", "--surface", "17"],
    &["record", "prime", "--on", "N/J1..4", "--anyway", "--why", "to see whether it is recorded whole"],
];

fn start(folder: &Path, line: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_cladlog"))
        .env_clear()
        .args(["--db", "job.db", "--json", "--by", "Lea"])
        .args(line)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// The ids and hashes that a whole document on stdout acknowledges; a part of one acknowledges nothing.
fn acknowledged(said: &str) -> Vec<(String, String)> {
    let Ok(said) = serde_json::from_str::<serde_json::Value>(said) else { return Vec::new() };
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    said["entries"].as_array().unwrap().iter().map(|entry| (text(&entry["id"]), text(&entry["hash"]))).collect()
}

fn said_by(child: &mut Child) -> String {
    let mut said = String::new();
    child.stdout.take().unwrap().read_to_string(&mut said).unwrap();
    said
}

/// `CLADLOG_KILL_ROUNDS=2000 cargo test --test all -- trust::kill` is the long form.
#[test]
fn a_command_killed_at_any_moment_keeps_its_word_and_leaves_nothing_half_done() {
    let mut chance = Chance(23);
    let rounds = rounds("CLADLOG_KILL_ROUNDS", 30);
    let (mut folder, mut path) = fresh();
    let (mut told, mut before) = (Vec::new(), 1);
    let mut usual = Duration::from_millis(40);
    let (mut kept_word, mut done_unsaid, mut not_done) = (0, 0, 0);
    for round in 0..rounds {
        if round % 100 == 99 {
            (folder, path) = fresh();
            (told, before) = (Vec::new(), 1);
        }
        let line = LINES[chance.below(LINES.len() as u64) as usize];
        let whole = if line[0] == "record" { 4 } else { 1 };
        // One that lives: how long one takes on this machine at this moment.
        if round % 4 == 0 {
            let began = Instant::now();
            let mut child = start(folder.path(), line);
            let said = said_by(&mut child);
            assert!(child.wait().unwrap().success(), "round {round}: {said}");
            usual = began.elapsed();
            let new = acknowledged(&said);
            assert_eq!(new.len(), whole, "round {round}: {said}");
            told.extend(new);
            before += whole;
        }
        // One that is killed: anywhere from its start to a little past its usual end, or right after it was heard.
        let mut child = start(folder.path(), line);
        let said = if round % 5 == 4 {
            let said = said_by(&mut child);
            let _ = child.kill();
            said
        } else {
            std::thread::sleep(Duration::from_micros(chance.below(usual.as_micros() as u64 * 11 / 10)));
            let _ = child.kill();
            said_by(&mut child)
        };
        child.wait().unwrap();
        let new = acknowledged(&said);
        let heard = !new.is_empty();
        told.extend(new);

        let store = Store::read(&path).unwrap();
        let entries = store.entries("test").unwrap();
        let here: std::collections::BTreeMap<String, &str> =
            entries.iter().map(|entry| (entry.id().to_string(), entry.hash.as_str())).collect();
        for (id, hash) in &told {
            assert_eq!(here.get(id), Some(&hash.as_str()), "round {round}: {id} was acknowledged");
        }
        // All of what one command records, or none of it.
        let more = entries.len() - before;
        assert!(more == whole || (more == 0 && !heard), "round {round}: {more} of {whole} entries of {line:?}");
        match (heard, more) {
            (true, _) => kept_word += 1,
            (false, 0) => not_done += 1,
            (false, _) => done_unsaid += 1,
        }
        before = entries.len();
        // Chain, hashes, pages.
        assert_eq!(store.verify().unwrap().1, [], "round {round}");
    }
    drop(folder);
    println!("{rounds} kills: {not_done} before the commit, {done_unsaid} before it was said, {kept_word} after");
    assert!(not_done > 0 && kept_word > 0, "{not_done} and {kept_word}: the kills miss the moment");
}
