//! The lists: filters by place, day and person; CSV; entries that act on another go with its subject.

use serde_json::Value;

use crate::harness::site::Site;
use crate::rules::site;

fn ids(list: &Value, key: &str) -> Vec<String> {
    list[key].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap().to_owned()).collect()
}

/// A note struck, a defect conceded, a stoppage ended: each on a subject of its own.
fn site() -> Site {
    let site = site::open("2026-03-02T08:00:00+13:00");
    let first = |told: Value| told["entries"][0]["id"].as_str().unwrap().to_owned();
    let note = first(site.ok(["note", "--on", "N/J1", "--text", "wrong joint"]));
    site.ok(["strike", &note, "--why", "it was J2"]);
    let frame = first(site.ok(["record", "frame", "--on", "E", "--answer", "flat=9"]));
    site.ok(["defect", "concede", &format!("{frame}.r8-flat"), "--person", "Dag", "--why", "behind the shed"]);
    let stop = first(site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea", "--on", "N"]));
    site.clock("2026-03-03T08:00:00+13:00");
    site.ok(["stoppage", "end", &stop]);
    site.ok(["hold", "ask", "cover", "--on", "E"]);
    site
}

fn kinds(list: &Value) -> Vec<&str> {
    list["entries"].as_array().unwrap().iter().map(|entry| entry["kind"].as_str().unwrap()).collect()
}

#[test]
fn the_log_of_a_subject_has_what_acts_on_its_entries() {
    let site = site();
    assert_eq!(kinds(&site.ok(["log", "--on", "N/J1"])), ["noted", "struck"]);
    assert_eq!(kinds(&site.ok(["log", "--on", "E"])), ["step-done", "defect-conceded", "hold-asked"]);
    let wall = site.ok(["log", "--on", "N"]);
    assert_eq!(kinds(&wall), ["noted", "struck", "stoppage-started", "stoppage-ended"], "a wall goes with its parts");
    assert_eq!(kinds(&site.ok(["log", "--day", "2026-03-03"])), ["stoppage-ended", "hold-asked"]);
    assert_eq!(kinds(&site.ok(["log", "--person", "Dag"])), ["defect-conceded"]);
    assert_eq!(kinds(&site.ok(["log", "--person", "Ivo"])), ["day-opened"]);
    assert_eq!(kinds(&site.ok(["log", "--person", "Lea", "--on", "N", "--limit", "1"])), ["stoppage-ended"]);
    assert_eq!(site.ok(["log", "--at", "2026-03-02T12:00:00+13:00"])["entries"].as_array().unwrap().len(), 7);
    let csv = site.bare(["--db", "job.db", "log", "--on", "N/J1", "--csv", "-"]).exits(0).stdout;
    assert!(
        csv.starts_with("id,happened_at,recorded_at,by,kind,subject,what,late,struck_by,hash,device,seq,changes\r\n"),
        "{csv}"
    );
    assert_eq!(csv.lines().count(), 3);
}

#[test]
fn defects_and_holds_are_filtered_and_written_as_csv() {
    let site = site();
    site.ok(["defect", "open", "--on", "N/J2", "--what", "=chipped"]);
    let many = |args: [&str; 4]| ids(&site.ok(args), "defects").len();
    assert_eq!(many(["defect", "list", "--on", "N"]), 1);
    assert_eq!(many(["defect", "list", "--on", "E"]), 1);
    assert_eq!(many(["defect", "list", "--person", "Dag"]), 1);
    assert_eq!(many(["defect", "list", "--day", "2026-03-02"]), 1);
    assert_eq!(many(["defect", "list", "--day", "2026-03-03"]), 1);
    let csv = site.bare(["--db", "job.db", "defect", "list", "--on", "N", "--csv", "-"]).exits(0).stdout;
    assert!(csv.lines().nth(1).unwrap().contains(",N/J2,open,,,'=chipped,2026-03-03T08:00:00+13:00,"), "{csv}");
    let holds = |args: [&str; 4]| site.ok(args)["holds"].as_array().unwrap().len();
    assert_eq!(holds(["hold", "list", "--on", "E"]), 1);
    assert_eq!(holds(["hold", "list", "--day", "2026-03-03"]), 1);
    assert_eq!(holds(["hold", "list", "--day", "2026-03-02"]), 0);
    let csv = site.bare(["--db", "job.db", "hold", "list", "--csv", "-"]).exits(0).stdout;
    assert_eq!(csv.lines().count(), 3, "{csv}");
}

#[test]
fn a_window_that_closes_says_whether_it_was_done_or_lapsed() {
    let site = site::with_frame("2026-03-02T08:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1,N/J2"]);
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "18"]);
    site.clock("2026-03-02T09:00:00+13:00");
    let closed = |told: Value| told["closed"][0]["says"].clone();
    assert_eq!(closed(site.ok(["record", "gun", "--on", "N/J1"])), "done");
    let rain = ["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "18", "--rain"];
    assert_eq!(closed(site.ok(rain)), "primer to sealant: lapsed 09:00 by rain");
}

#[test]
fn r2_a_strike_that_unfoots_many_names_a_few_and_counts_the_rest() {
    let site = site::open("2026-03-02T08:00:00+13:00");
    let frame = site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    let frame = frame["entries"][0]["id"].as_str().unwrap().to_owned();
    site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    site.ok(["caution", "acknowledge", "dust", "--person", "Lea", "Ivo"]);
    site.ok(["record", "course", "--on", "N/C1..7"]);
    site.clock("2026-03-02T09:00:00+13:00");
    let said = site.refused("R2", ["strike", &frame, "--why", "x"]);
    let why = said["why"].as_str().unwrap();
    assert!(why.contains("; and ") && why.ends_with(" more"), "{why}");
}

#[test]
fn a_wall_goes_with_the_corners_at_its_ends_in_every_list() {
    let site = Site::set_up("2026-03-02T08:00:00+13:00", site::FULL, "tests/rules/full.toml").beside("job", "Lea");
    site.open_day(&["Lea"]);
    site.ok("note --on NE --text chipped");
    site.ok("defect open --on NE --what chipped");
    for wall in ["N", "E", "NE"] {
        assert_eq!(kinds(&site.ok(["log", "--on", wall])), ["noted", "defect-opened"], "{wall}");
        assert_eq!(ids(&site.ok(["defect", "list", "--on", wall]), "defects").len(), 1, "{wall}");
    }
    assert!(kinds(&site.ok("log --on N/J1")).is_empty());
}
