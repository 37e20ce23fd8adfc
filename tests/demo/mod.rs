//! The demonstration: its inputs replay, and the database kept beside them is what they come to.

mod pictures;

use cladlog::record::Store;

use crate::harness::{Bench, root};

/// The demonstration in a folder of its own; the clock that the surroundings set does not reach it.
fn demo() -> Bench {
    let bench = Bench::at("2031-01-01T00:00:00Z");
    bench.run(["demo", "out"]).exits(0);
    bench
}

#[test]
fn the_database_kept_in_demo_db_is_what_its_inputs_come_to() {
    let bench = demo();
    let (fresh, kept) = (bench.path("out/demo.db"), root().join("demo-db/demo.db"));
    // To write it anew: CLADLOG_REFRESH=1 cargo test the_database_kept
    if std::env::var_os("CLADLOG_REFRESH").is_some() {
        let _ = std::fs::remove_file(&kept);
        bench.run(["--db", "out/demo.db", "backup", kept.to_str().unwrap()]).exits(0);
    }
    // Read from a copy, so that nothing is left beside the one that is kept.
    let copy = bench.path("kept.db");
    std::fs::copy(&kept, &copy).unwrap();
    let lines = |path: &std::path::Path| -> Vec<String> {
        Store::read(path).unwrap().entries("fernside").unwrap().iter().map(|entry| entry.jsonl()).collect()
    };
    let (fresh, kept) = (lines(&fresh), lines(&copy));
    let differs = fresh.iter().zip(&kept).position(|(a, b)| a != b);
    assert_eq!((differs, fresh.len()), (None, kept.len()), "CLADLOG_REFRESH=1 cargo test the_database_kept");
}

#[test]
fn the_demonstration_shows_what_a_site_day_brings() {
    let bench = demo();
    let json = |args: &[&str]| {
        let mut all = vec!["--db", "out/demo.db", "--json"];
        all.extend(args);
        bench.run(all).exits(0).json()
    };
    assert_eq!(json(&["next"])["actions"].as_array().unwrap().len(), 0, "everything is done");
    assert_eq!(json(&["verify"])["ok"], true);
    let defects = json(&["defect", "list"]);
    let states: Vec<&str> =
        defects["defects"].as_array().unwrap().iter().map(|defect| defect["state"].as_str().unwrap()).collect();
    assert!(states.contains(&"closed") && states.contains(&"conceded") && !states.contains(&"open"), "{states:?}");
    let log = json(&["log"]);
    let entries = log["entries"].as_array().unwrap();
    let kinds = |kind: &str| entries.iter().filter(|entry| entry["kind"] == kind).count();
    assert_eq!(kinds("day-opened"), 3);
    assert!(kinds("hold-refused") == 1 && kinds("struck") == 1 && kinds("plan-kept") >= 7);
    assert!(entries.iter().any(|entry| entry["late"] == true));
    assert!(entries.iter().any(|entry| entry["struck_by"].is_string()));
    // The joint that the rain took was primed twice.
    let primed = json(&["log", "--on", "N/J3"]);
    let primed = primed["entries"].as_array().unwrap().iter().filter(|entry| entry["kind"] == "step-done").count();
    assert_eq!(primed, 7, "backer, mask, prime, prime again, gun, tool, tape off");
    assert_eq!(json(&["job", "show"])["rehearsal"], true);
}

#[test]
fn a_folder_that_is_in_use_is_left_alone() {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    std::fs::create_dir(bench.path("out")).unwrap();
    bench.file("out/mine.txt", "mine");
    assert!(bench.run(["demo", "out"]).exits(2).stderr.contains("is not empty"));
    assert_eq!(std::fs::read_dir(bench.path("out")).unwrap().count(), 1);
}
