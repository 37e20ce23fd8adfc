//! Stoppages: noted with who was told, refused where they can't be, and what they cost.

use crate::harness::Run;
use crate::rules::{clears, site};

const MORNING: &str = "2026-03-02T08:00:00+13:00";

fn id_of(recorded: &serde_json::Value) -> String {
    recorded["entries"][0]["id"].as_str().unwrap().to_owned()
}

#[test]
fn crew_hours_lost_follow_who_was_on_site() {
    // Two people from eight; a third from half past nine. Rain from nine to ten: 2 h for two and half an hour
    // for the third (common practice, no source).
    let site = site::open(MORNING);
    site.clock("2026-03-02T09:00:00+13:00");
    let started = site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea", "Roof gang"]);
    assert_eq!(started["entries"][0]["kind"], "stoppage-started");
    assert_eq!(started["opened"][0]["what"], "stoppage");
    site.clock("2026-03-02T09:30:00+13:00");
    site.ok(["day", "join", "--crew", "Dag"]);
    assert_eq!(site.ok(["next"])["stoppages"][0]["cause"], "rain");
    site.clock("2026-03-02T10:00:00+13:00");
    let ended = site.ok(["stoppage", "end", "--note", "dry again"]);
    assert_eq!(ended["closed"][0]["what"], "stoppage");
    let list = site.ok(["stoppage", "list"]);
    assert_eq!(list["crew_hours_lost"], 2.5);
    let one = &list["stoppages"][0];
    assert_eq!(one["id"], id_of(&started));
    assert_eq!(one["state"], "ended");
    assert_eq!(one["told"], serde_json::json!(["Bea", "Roof gang"]));
    assert_eq!(one["note"], "dry again");
    assert_eq!(one["crew_hours_lost"], 2.5);
    assert!(site.ok(["next"]).get("stoppages").is_none());
}

#[test]
fn whoever_left_stands_idle_no_longer() {
    // Two people from eight; rain from nine to eleven, at ten one of them goes home: 2 h and 1 h (common practice, no
    // source). Back at half past ten he counts again.
    let site = site::open(MORNING);
    site.clock("09:00").ok("stoppage start --cause rain");
    site.clock("10:00").ok("day leave Ivo");
    site.clock("11:00").ok("stoppage end");
    assert_eq!(site.ok("stoppage list")["crew_hours_lost"], 3.0);
    site.ok("day join --crew Ivo --at 10:30");
    assert_eq!(site.ok("stoppage list")["crew_hours_lost"], 3.5);
    // Closed only the next morning, the hours of each say when they went: he was there for 2 h, then for 3 h more.
    site.clock("13:00").ok("stoppage start --cause wind");
    site.clock("2026-03-03T07:00:00+13:00").ok("day close --hours Lea=8 Ivo=5");
    // Lea stood from 13:00 to 16:00, Ivo from 13:00 to 13:30.
    assert_eq!(site.ok("stoppage list")["crew_hours_lost"], 7.0);
}

#[test]
fn a_stoppage_over_night_costs_only_what_the_crew_was_there_for() {
    let site = site::open(MORNING);
    site.clock("2026-03-02T14:00:00+13:00");
    site.ok(["stoppage", "start", "--cause", "wind", "--told", "Bea", "--people", "1", "--on", "N"]);
    site.clock("2026-03-02T16:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8"]);
    site.clock("2026-03-03T08:00:00+13:00");
    site.ok(["day", "open", "--crew", "Lea"]);
    site.clock("2026-03-03T09:00:00+13:00");
    // One of two for two hours, then the only one for an hour.
    assert_eq!(site.ok(["stoppage", "list"])["crew_hours_lost"], 3.0);
}

#[test]
fn a_day_closed_the_next_morning_did_not_last_all_night() {
    let site = site::open(MORNING);
    site.clock("2026-03-02T16:00:00+13:00");
    site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea"]);
    // Nobody closes the day; the next morning it is closed with the hours of the day before.
    site.clock("2026-03-03T07:00:00+13:00");
    let said = site.refused("R12", ["day", "open", "--crew", "Lea"]);
    assert!(clears(&said, "--at TIME"), "{said}");
    site.ok(["day", "close", "--hours", "Lea=9", "Ivo=8.5"]);
    // Lea until 17:00 by her hours, Ivo until 16:30.
    assert_eq!(site.ok(["stoppage", "list"])["crew_hours_lost"], 1.5);
}

#[test]
fn time_that_two_stoppages_share_is_counted_once() {
    let site = site::open(MORNING);
    site.ok(["stoppage", "start", "--cause", "no crane", "--told", "Bea", "--on", "N,E"]);
    site.clock("2026-03-02T09:00:00+13:00");
    let list = site.ok(["stoppage", "list"]);
    assert_eq!(list["crew_hours_lost"], 2.0, "two people for an hour, whatever stands still");
    assert_eq!(list["stoppages"].as_array().unwrap().len(), 2);
    site.bad(["stoppage", "end"]);
}

#[test]
fn r12_one_stoppage_at_a_time_on_a_subject() {
    let site = site::open(MORNING);
    let first = id_of(&site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea", "--on", "N"]));
    site.clock("2026-03-02T09:00:00+13:00");
    let said = site.refused("R12", ["stoppage", "start", "--cause", "wind", "--told", "Bea", "--on", "N"]);
    assert!(clears(&said, &format!("cladlog stoppage end {first} --at TIME")), "{said}");
    site.ok(["stoppage", "start", "--cause", "wind", "--told", "Bea", "--on", "E"]);
    site.ok(["stoppage", "end", &first, "--at", "08:50"]);
    let said =
        site.refused("R12", ["stoppage", "start", "--cause", "wind", "--told", "Bea", "--on", "N", "--at", "08:30"]);
    assert!(clears(&said, "08:50"), "{said}");
    site.ok(["stoppage", "start", "--cause", "wind", "--told", "Bea", "--on", "N", "--at", "08:50"]);
}

#[test]
fn an_end_is_refused_where_nothing_stands_still() {
    let site = site::open(MORNING);
    site.refused("R12", ["stoppage", "end"]);
    site.bad(["stoppage", "end", "nonsense"]);
    site.bad(["stoppage", "end", "nothing-7"]);
    let id = id_of(&site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea"]));
    site.refused("R3", ["stoppage", "end", "--at", "07:30"]);
    site.refused("R3", ["stoppage", "end", "--at", "08:30"]);
    site.clock("2026-03-02T08:40:00+13:00");
    let ended = id_of(&site.ok(["stoppage", "end", &id]));
    let said = site.refused("R12", ["stoppage", "end", &id]);
    assert!(clears(&said, &ended), "{said}");
    // The beginning is what the end stands on.
    let said = site.refused("R2", ["strike", &id, "--why", "wrong job"]);
    assert!(said["why"].as_str().unwrap().contains(&ended), "{said}");
    site.ok(["strike", &ended, "--why", "it rained on"]);
    assert_eq!(site.ok(["stoppage", "list"])["stoppages"][0]["state"], "open");
}

#[test]
fn a_forgotten_stoppage_is_recorded_late_and_ends_before_the_next() {
    let site = site::open(MORNING);
    site.clock("2026-03-02T12:00:00+13:00");
    let later = id_of(&site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea"]));
    let earlier = id_of(&site.ok(["stoppage", "start", "--cause", "no power", "--told", "Bea", "--at", "10:00"]));
    site.clock("2026-03-02T12:30:00+13:00");
    let said = site.refused("R12", ["stoppage", "end", &earlier]);
    assert!(said["why"].as_str().unwrap().contains(&later) && clears(&said, "12:00"), "{said}");
    site.ok(["stoppage", "end", &earlier, "--at", "10:30"]);
    let log = site.ok(["log"]);
    let late = log["entries"].as_array().unwrap().iter().filter(|entry| entry["late"] == true).count();
    assert_eq!(late, 2);
    assert_eq!(site.ok(["stoppage", "list"])["crew_hours_lost"], 2.0);
}

#[test]
fn the_list_is_filtered_and_written_as_csv() {
    let site = site::open(MORNING);
    site.ok(["stoppage", "start", "--cause", "=rain", "--told", "Bea", "--on", "N/J2"]);
    site.ok(["stoppage", "start", "--cause", "wind", "--told", "Dag", "--on", "E"]);
    site.clock("2026-03-02T09:00:00+13:00");
    let many = |args: [&str; 4]| site.ok(args)["stoppages"].as_array().unwrap().len();
    assert_eq!(many(["stoppage", "list", "--on", "N"]), 1, "a wall goes with its parts");
    assert_eq!(many(["stoppage", "list", "--person", "Dag"]), 1);
    assert_eq!(many(["stoppage", "list", "--day", "2026-03-02"]), 2);
    assert_eq!(many(["stoppage", "list", "--day", "2026-03-03"]), 0);
    let Run { stdout, .. } = site.bare(["--db", "job.db", "stoppage", "list", "--csv", "-", "--on", "N"]).exits(0);
    let mut lines = stdout.lines();
    assert_eq!(
        lines.next(),
        Some("id,subject,started_at,ended_at,cause,told,people,crew_hours_lost,note,state,by,ended_by_entry")
    );
    let row = lines.next().unwrap();
    assert!(row.contains(",N/J2,2026-03-02T08:00:00+13:00,,'=rain,Bea,,2,,open,"), "{row}");
    site.bare(["--db", "job.db", "stoppage", "list", "--csv", "stopped.csv"]).exits(0);
    assert_eq!(std::fs::read_to_string(site.path("stopped.csv")).unwrap().lines().count(), 3);
    site.bare(["--db", "job.db", "--json", "stoppage", "list", "--csv", "-"]).exits(2);
}
