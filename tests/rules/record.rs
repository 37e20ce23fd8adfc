//! R1 to R3 and R14: the record itself.

use cladlog::record::Store;

use super::site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn r1_entries_can_be_neither_changed_nor_deleted() {
    let site = site::with_frame(MONDAY);
    let connection = rusqlite::Connection::open(site.path("job.db")).unwrap();
    for statement in ["UPDATE entry SET line = 'x'", "DELETE FROM entry", "UPDATE entry SET seq = seq + 1"] {
        let error = connection.execute(statement, []).unwrap_err().to_string();
        assert_eq!(error, "the record is append-only: strike the entry instead");
    }
    site.run(["verify"]).exits(0);
}

#[test]
fn r1_every_entry_names_the_one_before_by_its_hash() {
    let site = site::with_frame(MONDAY);
    let log = site.ok(["log"]);
    let entries = log["entries"].as_array().unwrap();
    let out = site.path("record.jsonl");
    site.ok(["export", out.to_str().unwrap()]);
    let text = std::fs::read_to_string(out).unwrap();
    let mut before = "0".repeat(64);
    for (line, listed) in text.lines().zip(entries) {
        let mut value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(value["prev"], before.as_str());
        let hash = value.as_object_mut().unwrap().remove("hash").unwrap();
        // The hash again, by another road: RFC 8785 form of what was parsed.
        let canonical = serde_json_canonicalizer::to_vec(&value).unwrap();
        assert_eq!(hash, cladlog::digest::sha256_hex(&canonical).as_str());
        assert_eq!(hash, listed["hash"]);
        before = hash.as_str().unwrap().to_owned();
    }
    assert_eq!(text.lines().count(), entries.len());
}

#[test]
fn r1_any_byte_changed_in_the_file_is_found_and_its_entry_named() {
    let site = site::with_frame(MONDAY);
    let path = site.path("job.db");
    // Closing the last connection brings everything into the one file.
    rusqlite::Connection::open(&path).unwrap().query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    let whole = std::fs::read(&path).unwrap();
    let store = Store::read(&path).unwrap();
    let entries = store.entries("test").unwrap();
    drop(store);
    // SQLite leaves stale copies of moved rows in the file: a byte is changed in every copy.
    let copies = |needle: &str| -> Vec<usize> {
        let needle = needle.as_bytes();
        whole.windows(needle.len()).enumerate().filter(|(_, window)| *window == needle).map(|(at, _)| at).collect()
    };
    let flipped = |entry: &cladlog::record::Entry, place: usize| {
        let mut changed = whole.clone();
        for copy in copies(&format!("{}{}", entry.line, entry.hash)) {
            changed[copy + place] ^= 0x01;
        }
        std::fs::write(&path, &changed).unwrap();
    };
    // The first entry holds the whole sequence and lies on pages of its own: the others are found in one piece.
    for entry in &entries[1..] {
        for place in (0..entry.line.len()).step_by(23).chain((entry.line.len()..entry.line.len() + 64).step_by(31)) {
            flipped(entry, place);
            let (_, errors) = Store::read(&path).unwrap().verify().unwrap();
            assert!(errors.iter().any(|error| error.id == entry.id().to_string()), "byte {place}: {errors:?}");
        }
    }
    flipped(&entries[1], 10);
    let said = site.run(["verify"]).exits(1).json();
    assert_eq!(said["ok"], false);
    assert_eq!(said["failures"][0]["entry"], entries[1].id().to_string());
    // Every read checks what it reads.
    assert!(site.run(["next"]).exits(3).stderr.contains(&entries[1].id().to_string()));
}

#[test]
fn r1_read_tables_are_rebuilt_from_the_entries() {
    let site = site::with_frame(MONDAY);
    for altered in [
        "UPDATE hold_line SET state = 'released'",
        "UPDATE job_line SET name = 'Another house'",
        "UPDATE job_line SET job = 'another'",
        "DELETE FROM job_line",
    ] {
        let connection = rusqlite::Connection::open(site.path("job.db")).unwrap();
        connection.execute(altered, []).unwrap();
        drop(connection);
        let said = site.run(["verify"]).exits(1).json();
        assert!(said["failures"][0].get("entry").is_none(), "{altered}: {said}");
        site.ok(["rebuild"]);
        site.run(["verify"]).exits(0);
    }
}

#[test]
fn r2_a_struck_entry_counts_no_more_and_both_stay_readable() {
    let site = site::open(MONDAY);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    let id = told["entries"][0]["id"].as_str().unwrap();
    let told = site.ok(["strike", id, "--why", "it was the east wall"]);
    let strike = told["entries"][0]["id"].as_str().unwrap().to_owned();
    assert_eq!(site.next_of("frame", "N").unwrap()["state"], "ready");
    let log = site.ok(["log", "--on", "N"]);
    assert_eq!(log["entries"][0]["struck_by"], strike.as_str());
    site.refused("R2", ["strike", id, "--why", "again"]);
    // A strike that was itself a mistake is struck: the entry counts again.
    site.ok(["strike", &strike, "--why", "it was the north wall after all"]);
    assert!(site.next_of("frame", "N").is_none());
    assert!(site.ok(["log", "--on", "N"])["entries"][0]["struck_by"].is_null());
}

#[test]
fn r2_a_strike_of_a_strike_is_the_last_word_on_a_clock_that_was_set_back() {
    let site = site::open(MONDAY);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    let id = told["entries"][0]["id"].as_str().unwrap().to_owned();
    site.clock("2026-03-02T09:01:30+13:00");
    let told = site.ok(["strike", &id, "--why", "it was the east wall"]);
    let strike = told["entries"][0]["id"].as_str().unwrap().to_owned();
    // A minute back, which R14 lets pass.
    site.clock("2026-03-02T09:00:30+13:00");
    site.ok(["strike", &strike, "--why", "it was the north wall after all"]);
    assert!(site.next_of("frame", "N").is_none(), "the entry counts again");
}

#[test]
fn r2_striking_a_strike_says_which_entries_lose_their_footing() {
    let site = site::open(MONDAY);
    // Two measurements; the first, out of tolerance, is struck, and work goes on upon the second.
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    let good = told["entries"][0]["id"].as_str().unwrap().to_owned();
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=9"]);
    let bad = told["entries"][0]["id"].as_str().unwrap();
    let told = site.ok(["strike", bad, "--why", "read off the wrong wall"]);
    let strike = told["entries"][0]["id"].as_str().unwrap();
    let prime = site.ok(["record", "prime", "--on", "N/J1"])["entries"][0]["id"].as_str().unwrap().to_owned();
    // All of it within one second: the strike of the strike still is the last word.
    let said = site.refused("R2", ["strike", strike, "--why", "it was this wall"]);
    let why = said["why"].as_str().unwrap();
    assert!(why.contains(&prime) && !why.contains(&good), "{why}");
}

#[test]
fn r2_a_strike_says_which_entries_lose_their_footing() {
    let site = site::open(MONDAY);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    let frame = told["entries"][0]["id"].as_str().unwrap();
    let told = site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    let release = told["entries"][0]["id"].as_str().unwrap();
    let told = site.ok(["record", "prime", "--on", "N/J1"]);
    let prime = told["entries"][0]["id"].as_str().unwrap();
    let said = site.refused("R2", ["strike", frame, "--why", "not measured"]);
    let why = said["why"].as_str().unwrap();
    assert!(why.contains(release) && why.contains(prime), "{why}");
    let told = site.ok(["strike", frame, "--why", "not measured", "--anyway"]);
    let opened = told["opened"].as_array().unwrap().iter().filter(|mark| mark["what"] == "defect").count();
    assert_eq!(opened, 2, "{told}");
    let first = site.ok(["log"])["entries"][0]["id"].as_str().unwrap().to_owned();
    site.refused("R2", ["strike", &first, "--why", "start again"]);
}

#[test]
fn r3_windows_and_order_use_the_time_that_it_happened() {
    let site = site::with_frame(MONDAY);
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19"]);
    site.clock("2026-03-02T12:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1", "--at", "10:00"]);
    site.refused("R6", ["record", "gun", "--on", "N/J1", "--at", "10:29"]);
    let told = site.ok(["record", "gun", "--on", "N/J1", "--at", "10:45"]);
    assert_eq!(told["entries"][0]["happened_at"], "2026-03-02T10:45:00+13:00");
    assert_eq!(told["entries"][0]["recorded_at"], "2026-03-02T12:00:00+13:00");
}

#[test]
fn r3_more_than_a_quarter_of_an_hour_after_is_late_and_the_future_is_refused() {
    let site = site::with_frame(MONDAY);
    site.clock("2026-03-02T09:00:00+13:00");
    site.ok(["note", "--text", "on time", "--at", "08:45"]);
    site.ok(["note", "--text", "late", "--at", "08:44"]);
    let log = site.ok(["log"]);
    let late: Vec<bool> =
        log["entries"].as_array().unwrap().iter().rev().take(2).map(|entry| entry["late"].as_bool().unwrap()).collect();
    assert_eq!(late, [true, false]);
    site.refused("R3", ["note", "--text", "tomorrow", "--at", "2026-03-03T08:00:00+13:00"]);
    site.refused("R3", ["note", "--text", "in a minute", "--at", "09:01"]);
}

#[test]
fn r14_a_clock_that_went_back_refuses_to_record() {
    let site = site::with_frame(MONDAY);
    site.clock("2026-03-02T07:58:00+13:00");
    site.ok(["note", "--text", "two minutes are nothing"]);
    site.clock("2026-03-02T07:57:59+13:00");
    site.refused("R14", ["note", "--text", "more are"]);
}
