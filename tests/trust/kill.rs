//! A writer that is killed at a random moment has lost nothing that it acknowledged.

#![allow(clippy::print_stdout, reason = "how often it was tried")]

use std::io::{BufRead, BufReader};
use std::time::Duration;

use cladlog::record::Store;

use super::{Chance, fresh, rounds, writer};

/// `CLADLOG_KILL_ROUNDS=2000 cargo test --test all -- trust::kill` is the long form.
#[test]
fn what_was_acknowledged_survives_sigkill() {
    let mut chance = Chance(11);
    let rounds = rounds("CLADLOG_KILL_ROUNDS", 30);
    let (mut folder, mut path) = fresh();
    let (mut told, mut all) = (Vec::new(), 0);
    for round in 0..rounds {
        // A new file now and then: the first entries are where the file grows.
        if round % 100 == 99 {
            (folder, path) = fresh();
            told.clear();
        }
        let mut child = writer::start(&path);
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        // Killed somewhere after its first acknowledgement, in the middle of a later one as like as not.
        let first = lines.by_ref().map_while(Result::ok).find_map(|line| writer::acknowledged(&line));
        told.push(first.unwrap());
        std::thread::sleep(Duration::from_micros(chance.below(12_000)));
        child.kill().unwrap();
        told.extend(lines.map_while(Result::ok).filter_map(|line| writer::acknowledged(&line)));
        child.wait().unwrap();
        let store = Store::read(&path).unwrap();
        let entries = store.entries("test").unwrap();
        let here: std::collections::BTreeMap<String, &str> =
            entries.iter().map(|entry| (entry.id().to_string(), entry.hash.as_str())).collect();
        for (id, hash) in &told {
            assert_eq!(here.get(id), Some(&hash.as_str()), "round {round}: {id} was acknowledged");
        }
        // Chain, hashes, pages; and nothing half: all that is there was written whole.
        assert_eq!(store.verify().unwrap().1, [], "round {round}");
        all += 1;
    }
    drop(folder);
    println!("{all} rounds");
}
