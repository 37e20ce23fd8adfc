//! Files that are not ours, not whole, altered, or reached by a link: nothing of them is changed, and nothing of them is
//! trusted.

use std::path::Path;

use rusqlite::Connection;

use crate::harness::site::Site;
use crate::rules::site::JOB;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

fn begun() -> Site {
    let site = Site::folder(EIGHT, "tests/rules/small.toml").beside("job", "Lea");
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site
}

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_type().unwrap().is_file())
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).unwrap()))
        .collect();
    files.sort();
    files
}

#[test]
fn a_database_of_something_else_is_refused_and_not_touched() {
    let site = begun();
    site.ok("export other.jsonl");
    let other = site.beside("other", "Lea");
    Connection::open(site.path("other.db"))
        .unwrap()
        .execute_batch("CREATE TABLE t (x); INSERT INTO t VALUES (1)")
        .unwrap();
    let before = files(&site.path("."));
    for command in ["note --on N --text x", "merge other.jsonl", "job add job.toml", "rebuild", "log", "verify"] {
        let words: Vec<&str> = command.split(' ').collect();
        other.run(&words[..]).exits(2);
        assert_eq!(files(&site.path(".")), before, "{command}");
    }
}

#[test]
fn what_a_killed_first_command_leaves_is_taken_as_new() {
    let site = begun();
    // Empty; and with nothing in it but the header of a database in write-ahead mode, as earlier programs left it.
    site.file("empty.db", "");
    Connection::open(site.path("header.db")).unwrap().query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    assert_eq!(std::fs::metadata(site.path("header.db")).unwrap().len(), 4096);
    for name in ["empty", "header"] {
        let left = site.beside(name, "Lea");
        left.run(["note", "--on", "N", "--text", "x"]).exits(2);
        left.ok("job add job.toml");
        left.run("verify").exits(0);
    }
}

#[test]
fn a_job_set_up_that_is_killed_at_any_moment_can_be_set_up_again() {
    let site = begun();
    for round in 0..crate::trust::rounds("CLADLOG_KILL_ROUNDS", 30) {
        let name = format!("new-{round}.db");
        let mut child = site.bench().command().args(["--db", &name, "job", "add", "job.toml"]).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_micros(1_000 * (round as u64 % 40)));
        child.kill().unwrap();
        child.wait().unwrap();
        let again = site.bench().run(["--db", &name, "job", "add", "job.toml"]);
        // It is there already where the first one was through.
        assert!(again.code == 0 || again.stderr.contains("already exists"), "{again:?}");
        site.bench().run(["--db", &name, "verify"]).exits(0);
    }
}

#[test]
fn several_first_commands_at_once_all_find_a_database() {
    let site = begun();
    for round in 0..3 {
        let db = format!("new-{round}.db");
        let jobs: Vec<String> = (0..8)
            .map(|number| {
                let text = JOB.replacen("key = \"test\"", &format!("key = \"test{number}\""), 1);
                site.file(&format!("job-{number}.toml"), &text)
            })
            .collect();
        let all: Vec<_> = jobs
            .iter()
            .map(|job| site.bench().command().args(["--db", &db, "job", "add", job]).spawn().unwrap())
            .collect();
        for mut child in all {
            assert!(child.wait().unwrap().success());
        }
        assert_eq!(site.beside(&format!("new-{round}"), "Lea").ok("job list")["jobs"].as_array().unwrap().len(), 8);
    }
}

#[test]
fn an_altered_database_answers_nothing_and_stores_nothing() {
    let endless = "DROP TABLE entry; CREATE VIEW entry AS WITH RECURSIVE n (place) AS (SELECT 1 UNION ALL SELECT place + 1 \
                   FROM n) SELECT place, 'test' AS job, 'x' AS device, place AS seq, '' AS line, '' AS hash FROM n";
    let silent = "CREATE TRIGGER quiet BEFORE INSERT ON entry BEGIN SELECT RAISE(IGNORE); END";
    for altered in [endless, silent] {
        let site = begun();
        let bad = site.beside("bad", "Lea");
        std::fs::copy(site.path("job.db"), site.path("bad.db")).unwrap();
        Connection::open(site.path("bad.db")).unwrap().execute_batch(altered).unwrap();
        for command in ["log", "note --on N --text x", "backup copy.db", "pack pack --interim"] {
            let words: Vec<&str> = command.split(' ').collect();
            bad.run(&words[..]).exits(3);
        }
        site.run("merge bad.db").exits(3);
        let verified = site.run("verify bad.db").exits(1).json();
        assert!(verified["failures"][0]["what"].as_str().unwrap().contains("altered"), "{verified}");
    }
}

#[test]
fn verify_and_log_leave_a_log_that_a_writer_left_as_it_is() {
    let site = begun();
    // A reader that keeps the file open: what is recorded meanwhile stays in the log when both are killed.
    let reader = Connection::open(site.path("job.db")).unwrap();
    reader.query_row("SELECT count(*) FROM entry", [], |row| row.get::<_, i64>(0)).unwrap();
    site.ok(["note", "--on", "N", "--text", "x"]);
    for ending in ["", "-wal"] {
        std::fs::copy(site.path(&format!("job.db{ending}")), site.path(&format!("left.db{ending}"))).unwrap();
    }
    drop(reader);
    let bytes = || ["left.db", "left.db-wal"].map(|name| std::fs::read(site.path(name)).unwrap());
    let before = bytes();
    assert!(!before[1].is_empty());
    for command in ["verify left.db", "verify --json left.db"] {
        site.run(command).exits(0);
        assert_eq!(bytes(), before, "{command}");
    }
    assert_eq!(site.beside("left", "Lea").log().len(), 2);
    assert_eq!(bytes(), before);
}

#[cfg(unix)]
#[test]
fn a_link_to_a_database_shares_its_photos_and_its_key() {
    let site = begun();
    std::fs::create_dir(site.path("links")).unwrap();
    std::os::unix::fs::symlink("../job.db", site.path("links/link.db")).unwrap();
    std::fs::write(site.path("wall.jpg"), crate::harness::pictures::photo(90, None)).unwrap();
    let link = site.beside("links/link", "Lea");
    link.ok(["photo", "add", "wall.jpg", "--on", "N"]);
    assert!(site.ok("verify").get("notes").is_none());
    assert_eq!(site.ok("verify")["checked"]["files"], 1);
    site.ok("photo list");
    assert_eq!(std::fs::read_dir(site.path("links")).unwrap().count(), 1);
    link.ok(["note", "--on", "N", "--text", "by the link"]);
    assert_eq!(site.log(), link.log());
}

#[cfg(unix)]
#[test]
fn a_pipe_or_a_device_is_no_database_and_no_key() {
    let site = begun();
    let made = std::process::Command::new("mkfifo").arg(site.path("pipe.db")).status().unwrap();
    assert!(made.success());
    let pipe = site.beside("pipe", "Lea");
    for command in ["log", "verify", "backup copy.db", "job add job.toml"] {
        pipe.run(command).exits(2);
    }
    for key in ["/dev/zero", "."] {
        // Under a rehearsal clock the key for rehearsals signs: this one is asked for by name.
        let mut command = site.bench().command();
        let output = command.env_remove("CLADLOG_CLOCK").args(["--db", "real.db", "job", "add", "job.toml"]).output();
        assert!(output.unwrap().status.code().is_some());
        let mut command = site.bench().command();
        command.env_remove("CLADLOG_CLOCK").args(["--db", "real.db", "pack", "pack", "--interim", "--key", key]);
        assert_eq!(command.output().unwrap().status.code(), Some(2), "{key}");
    }
}
