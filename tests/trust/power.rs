//! A power cut, simulated: after every acknowledged commit the files are kept as they lie on the disk. A cut before
//! the next one leaves any part of what was written since, in any order, sector by sector; what was flushed stays.
//!
//! SQLite's own order of flushing bounds what is possible: pages go into the file only after the log that holds
//! them is flushed. So either sectors of the log are missing and the file is as before, or the log is whole and
//! sectors of the file are missing. Each such disk must open, hold every acknowledged entry, and verify.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use cladlog::record::{AddNote, Draft, Entry, Store};

use super::{Chance, fresh, rounds};

/// What a disk writes at once; smaller than any page.
const SECTOR: usize = 512;

#[derive(Clone)]
struct Disk {
    file: Vec<u8>,
    log: Vec<u8>,
}

fn log_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push("-wal");
    PathBuf::from(name)
}

impl Disk {
    fn of(path: &Path) -> Self {
        Self { file: std::fs::read(path).unwrap(), log: std::fs::read(log_of(path)).unwrap_or_default() }
    }

    /// Each sector as it was or as it became, by chance; the end of the file anywhere between.
    fn torn(before: &[u8], after: &[u8], chance: &mut Chance) -> Vec<u8> {
        let sectors = before.len().max(after.len()).div_ceil(SECTOR);
        let mut torn = Vec::new();
        for sector in 0..sectors {
            let part = |of: &[u8]| of.get(sector * SECTOR..).map(|rest| rest[..rest.len().min(SECTOR)].to_vec());
            let new = chance.below(4) > 0;
            // A sector that was never written to reads as noughts once the file is longer.
            let old = part(before).unwrap_or_else(|| vec![0; SECTOR]);
            torn.extend(if new { part(after).unwrap_or(old) } else { old });
        }
        let shortest = before.len().min(after.len());
        let cut = shortest + chance.below((torn.len() - shortest) as u64 + 1) as usize;
        torn.truncate(cut);
        torn
    }

    fn must_hold(&self, acknowledged: &[String], folder: &Path, why: &str) {
        let path = folder.join("cut.db");
        std::fs::write(&path, &self.file).unwrap();
        std::fs::write(log_of(&path), &self.log).unwrap();
        let _ = std::fs::remove_file(folder.join("cut.db-shm"));
        let store = Store::read(&path).unwrap_or_else(|error| panic!("{why}: {error}"));
        let hashes: Vec<String> = store.entries("test").unwrap().into_iter().map(|entry| entry.hash).collect();
        assert!(hashes.len() <= acknowledged.len() + 1, "{why}");
        assert_eq!(&hashes[..acknowledged.len()], acknowledged, "{why}");
        assert_eq!(store.verify().unwrap().1, [], "{why}");
    }
}

/// `CLADLOG_POWER_CUTS=40` tries that many disks of each kind after every twelfth commit; the short form one.
#[test]
fn what_was_acknowledged_survives_a_power_cut() {
    let (folder, path) = fresh();
    let mut chance = Chance(5);
    let cuts = rounds("CLADLOG_POWER_CUTS", 1);
    let mut store = Store::write_to(&path).unwrap();
    let device = store.jobs().unwrap()[0].device.clone();
    let mut known: Vec<String> = store.entries("test").unwrap().into_iter().map(|entry| entry.hash).collect();
    let model = store.entries("test").unwrap().pop().unwrap();
    let (mut seq, mut prev) = (model.seq, model.hash.clone());
    let (mut before, mut checkpoints) = (Disk::of(&path), 0);
    // Now and then the log is carried into the file, and begun again by the next commit: before that it holds several.
    for number in 0..420 {
        let text = format!("note {number} {}", "and more ".repeat(chance.below(1200) as usize));
        let body = cladlog::record::Body::Noted(AddNote { subject: "N".into(), text });
        let draft = Draft {
            job: "test".into(),
            happened_at: model.happened_at,
            recorded_at: model.recorded_at,
            by: "Lea".into(),
            body,
            rehearsal: true,
        };
        let entry = store
            .append(|writing| -> Result<_, cladlog::record::StoreError> {
                let entry = Entry::finalize(draft, &*device, seq + 1, &prev, BTreeMap::new()).unwrap();
                writing.insert(&entry)?;
                Ok(entry)
            })
            .unwrap();
        if chance.below(3) > 0 {
            store.carry().unwrap();
        }
        (seq, prev) = (entry.seq, entry.hash.clone());
        let after = Disk::of(&path);
        let carried = before.file != after.file;
        checkpoints += usize::from(carried);
        if number % 12 == 0 {
            for cut in 0..cuts {
                let log = Disk::torn(&before.log, &after.log, &mut chance);
                Disk { file: before.file.clone(), log }.must_hold(
                    &known,
                    folder.path(),
                    &format!("{number} log {cut}"),
                );
                if carried {
                    let file = Disk::torn(&before.file, &after.file, &mut chance);
                    let mut whole = known.clone();
                    whole.push(entry.hash.clone());
                    let disk = Disk { file, log: after.log.clone() };
                    disk.must_hold(&whole, folder.path(), &format!("{number} file {cut}"));
                }
            }
        }
        known.push(entry.hash);
        before = after;
    }
    assert!((200..400).contains(&checkpoints), "the log was carried into the file {checkpoints} times");
}
