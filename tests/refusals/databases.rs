//! Databases that are missing, foreign, newer, locked, read-only, cut short.

use crate::harness::site::Site;
use crate::rules::site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

/// Brings everything into the one file and gives its bytes.
fn whole(site: &Site) -> Vec<u8> {
    let path = site.path("job.db");
    rusqlite::Connection::open(&path).unwrap().query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    std::fs::read(path).unwrap()
}

#[test]
fn reading_commands_never_make_a_database() {
    let site = site::open(MONDAY);
    for command in ["next", "log", "verify"] {
        let run = site.bare(["--db", "other.db", command]);
        assert_eq!(run.code, 2, "{run:?}");
    }
    for command in [["hold", "list"], ["window", "list"], ["defect", "list"], ["job", "show"], ["job", "list"]] {
        let [first, second] = command;
        assert_eq!(site.bare([first, second, "--db", "other.db"]).code, 2);
    }
    assert!(!site.path("other.db").exists());
}

#[test]
fn what_is_no_database_of_ours_is_bad_input() {
    let site = site::open(MONDAY);
    std::fs::write(
        site.path("text.db"),
        "not a database, but long enough to have a header of one hundred bytes ".repeat(4),
    )
    .unwrap();
    std::fs::write(site.path("empty.db"), "").unwrap();
    rusqlite::Connection::open(site.path("foreign.db")).unwrap().execute_batch("CREATE TABLE t (x)").unwrap();
    for file in ["text.db", "empty.db", "foreign.db"] {
        let run = site.bare(["verify", file]);
        assert!((2..=3).contains(&run.code), "{run:?}");
        assert_eq!(site.bare(["next", "--db", file]).code, 2);
        assert_eq!(site.bare(["note", "--text", "x", "--db", file]).code, 2);
    }
}

#[test]
fn a_file_of_a_newer_program_is_refused_and_left_alone() {
    let site = site::open(MONDAY);
    let connection = rusqlite::Connection::open(site.path("job.db")).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    drop(connection);
    let bytes = std::fs::read(site.path("job.db")).unwrap();
    site.run(["note", "--text", "x"]).exits(2);
    site.run(["next"]).exits(2);
    assert_eq!(std::fs::read(site.path("job.db")).unwrap(), bytes);
}

#[test]
fn a_file_that_another_program_holds_is_a_failure_of_the_machine() {
    let site = site::open(MONDAY);
    let connection = rusqlite::Connection::open(site.path("job.db")).unwrap();
    connection.execute_batch("BEGIN EXCLUSIVE").unwrap();
    // Readers are not held up by a writer.
    site.run(["next"]).exits(0);
    site.run(["note", "--text", "x"]).exits(3);
}

#[test]
fn a_file_cut_short_is_a_failure_of_the_machine_never_a_crash() {
    let site = site::with_frame(MONDAY);
    let bytes = whole(&site);
    for keep in [100, 4096, 8192, bytes.len() / 2, bytes.len() - 4096, bytes.len() - 1] {
        std::fs::write(site.path("cut.db"), &bytes[..keep]).unwrap();
        for command in ["next", "verify", "log"] {
            let run = site.bare(["--db", "cut.db", command]);
            assert!((1..=3).contains(&run.code), "{keep} {command}: {run:?}");
            assert!(!run.stderr.contains("panicked"), "{run:?}");
        }
    }
}

#[test]
fn random_damage_never_makes_it_crash() {
    let site = site::with_frame(MONDAY);
    let bytes = whole(&site);
    // A fixed walk over the file (a linear congruence), the same on every run.
    let mut place: u64 = 7;
    for _ in 0..40 {
        place = (place.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407))
            % bytes.len() as u64;
        let mut changed = bytes.clone();
        changed[place as usize] ^= 0xff;
        std::fs::write(site.path("hurt.db"), &changed).unwrap();
        let run = site.bare(["--db", "hurt.db", "verify"]);
        assert!((0..=3).contains(&run.code) && !run.stderr.contains("panicked"), "byte {place}: {run:?}");
    }
}

#[test]
fn several_jobs_are_told_apart_by_their_key() {
    let site = site::open(MONDAY);
    let job = std::fs::read_to_string(site.path("job.toml")).unwrap().replace("key = \"test\"", "key = \"second\"");
    std::fs::write(site.path("second.toml"), job).unwrap();
    site.ok(["job", "add", "second.toml"]);
    site.run(["next"]).exits(2);
    site.ok(["next", "--job", "second"]);
    site.run(["next", "--job", "third"]).exits(2);
    site.refused("R12", ["record", "frame", "--on", "N", "--answer", "flat=1", "--job", "second"]);
    site.ok(["record", "frame", "--on", "N", "--answer", "flat=1", "--job", "test"]);
    site.run(["verify"]).exits(0);
}

/// As a disk from an older machine may have them.
#[cfg(target_os = "linux")]
#[test]
fn a_database_whose_name_is_not_utf_8_is_read_as_it_is_written() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let site = site::open(MONDAY);
    let bench = site.bench();
    let name = OsStr::from_bytes(b"caf\xe9.db");
    std::fs::copy(bench.path("job.db"), bench.path("x").with_file_name(name)).unwrap();
    for command in [["log"], ["verify"]] {
        let args = [OsStr::new("--db"), name].into_iter().chain(command.map(OsStr::new));
        bench.run(args).exits(0);
    }
    let note = ["note", "--on", "N", "--text", "found"].map(OsStr::new);
    bench.run([OsStr::new("--db"), name].into_iter().chain(note)).exits(0);
}
