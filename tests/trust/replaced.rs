//! The database is replaced, removed or written over while a walk or a watch has it open: both stop, nothing that was
//! recorded is lost, and nothing is ruined. `restore` replaces it only when nobody has it open.

#![cfg(unix)]

use std::path::Path;

use cladlog::record::Store;

use crate::harness::site::Site;
use crate::rules::site::JOB;
use crate::walk::terminal::Terminal;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// A way to put a file in the place of another, in words.
type Way = (&'static str, fn(&Path, &Path));

/// What a sync program, a careless restore and a person do.
const WAYS: [Way; 5] = [
    ("moved there, the log taken away first", |other, job| {
        remove_log(job);
        std::fs::rename(other, job).unwrap();
    }),
    ("moved there", |other, job| std::fs::rename(other, job).unwrap()),
    ("written over, the log taken away first", |other, job| {
        remove_log(job);
        std::fs::copy(other, job).unwrap();
    }),
    ("written over", |other, job| {
        std::fs::copy(other, job).unwrap();
    }),
    ("removed", |_, job| std::fs::remove_file(job).unwrap()),
];

fn remove_log(job: &Path) {
    for ending in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{ending}", job.display()));
    }
}

/// A job with a day open, and an older copy of its file that is whole.
fn begun() -> Site {
    let site = Site::folder(EIGHT, "tests/rules/small.toml").beside("job", "Lea");
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site.ok("backup older.db");
    site.open_day(&["Lea", "Ivo"]);
    site
}

#[test]
fn a_walk_whose_file_is_replaced_stops_and_saves_what_was_recorded() {
    for (way, replace) in WAYS {
        let site = begun();
        let job = site.path("job.db");
        let mut walk = Terminal::on(&site, "walk");
        walk.question().unwrap();
        walk.reply("note recorded in the walk\r");
        walk.sees("Recorded:");
        walk.question().unwrap();
        replace(&site.path("older.db"), &job);
        walk.reply("note recorded too late\r");
        assert_eq!(walk.ends(), 3, "{way}: {}", walk.everything());
        // What the walk had recorded is in the file that it names, and can be brought in where a file is.
        let saved = site.read("job.db.saved.jsonl");
        assert!(saved.contains("recorded in the walk") && !saved.contains("recorded too late"), "{way}");
        if job.exists() {
            site.run("verify").exits(0);
        }
        site.ok("merge job.db.saved.jsonl");
        assert!(site.log().iter().any(|entry| entry["kind"] == "noted"), "{way}");
        site.run("verify").exits(0);
    }
}

#[test]
fn a_watch_whose_file_is_replaced_stops() {
    for (way, replace) in WAYS {
        let site = begun();
        let mut watch = Terminal::on(&site, "watch");
        watch.sees("no window is running");
        replace(&site.path("older.db"), &site.path("job.db"));
        assert_eq!(watch.ends(), 3, "{way}: {}", watch.everything());
    }
}

#[test]
fn what_others_record_meanwhile_stops_neither() {
    let site = begun();
    let mut walk = Terminal::on(&site, "walk");
    walk.question().unwrap();
    for round in 0..5 {
        site.ok(["note", "--on", "N", "--text", "by another program"]);
        site.ok("verify");
        walk.reply(&format!("note round {round}\r"));
        walk.sees("Recorded:");
        walk.question().unwrap();
    }
    walk.reply("quit\r");
    assert_eq!(walk.ends(), 0, "{}", walk.everything());
    assert_eq!(site.log().iter().filter(|entry| entry["kind"] == "noted").count(), 10);
}

#[test]
fn a_copy_of_the_file_alone_has_all_that_a_walk_recorded() {
    let site = begun();
    let mut walk = Terminal::on(&site, "walk");
    for text in ["one", "two"] {
        walk.question().unwrap();
        walk.reply(&format!("note {text}\r"));
        walk.sees("Recorded:");
    }
    walk.question().unwrap();
    std::fs::copy(site.path("job.db"), site.path("alone.db")).unwrap();
    assert_eq!(site.beside("alone", "Lea").log().iter().filter(|entry| entry["kind"] == "noted").count(), 2);
    assert_eq!(walk.leave(), 0);
}

#[test]
fn restore_puts_a_backup_in_place_and_keeps_what_was_there() {
    let site = begun();
    site.ok(["note", "--on", "N", "--text", "after the backup"]);
    let before = site.hashes();
    let restored = site.ok("restore older.db");
    assert_eq!(restored["only_in_kept"], 2, "the day and the note");
    assert_eq!(site.hashes().len(), 1);
    site.run("verify").exits(0);
    // What was there is whole, and comes back by a merge.
    let kept = restored["kept"].as_str().unwrap().to_owned();
    site.run(["verify", &kept]).exits(0);
    site.ok(["merge", &kept]);
    let after = site.hashes();
    assert!(before.iter().all(|hash| after.contains(hash)) && after.len() == before.len());
    // A second one is kept under another name.
    assert_ne!(site.ok("restore older.db")["kept"], kept);
}

#[test]
fn restore_refuses_while_the_file_is_open_and_what_does_not_hold() {
    let site = begun();
    let before = site.hashes();
    let files = || std::fs::read_dir(site.path(".")).unwrap().count();
    for open in ["walk", "watch"] {
        let mut terminal = Terminal::on(&site, open);
        if open == "walk" {
            terminal.question().unwrap();
        } else {
            terminal.sees("running");
        }
        let count = files();
        site.run("restore older.db").exits(3);
        assert_eq!((files(), terminal.leave() > 2), (count, false));
    }
    assert_eq!(site.hashes(), before);
    // Not a database, a damaged one, the database itself, none.
    site.file("text.db", "not a database");
    let mut bytes = std::fs::read(site.path("older.db")).unwrap();
    let place = bytes.windows(9).position(|part| part == b"job-added").unwrap();
    bytes[place] ^= 1;
    std::fs::write(site.path("bad.db"), bytes).unwrap();
    for file in ["text.db", "bad.db", "job.db", "none.db"] {
        site.run(["restore", file]).exits(2);
    }
    assert_eq!(site.hashes(), before);
    // Nor is a database of something else replaced.
    rusqlite::Connection::open(site.path("other.db")).unwrap().execute_batch("CREATE TABLE t (x)").unwrap();
    let bytes = std::fs::read(site.path("other.db")).unwrap();
    site.beside("other", "Lea").run("restore older.db").exits(2);
    assert_eq!(std::fs::read(site.path("other.db")).unwrap(), bytes);
}

#[test]
fn restore_replaces_what_is_damaged_or_gone() {
    let site = begun();
    std::fs::write(site.path("job.db"), "this was a database").unwrap();
    std::fs::write(site.path("job.db-wal"), "and this its log").unwrap();
    let restored = site.ok("restore older.db");
    let kept = restored["kept"].as_str().unwrap();
    assert!(restored.get("only_in_kept").is_none());
    assert_eq!(site.read(kept), "this was a database");
    assert_eq!(site.read(&format!("{kept}-wal")), "and this its log");
    site.run("verify").exits(0);
    std::fs::remove_file(site.path("job.db")).unwrap();
    assert!(site.ok("restore older.db").get("kept").is_none());
    assert_eq!(Store::read(&site.path("job.db")).unwrap().entries("test").unwrap().len(), 1);
}
