//! R6: windows, across midnight and both changes of the clocks; R7: limits.

use super::{clears, site};
use crate::harness::site::Site;

/// Primes N/J1 at one time and tries to gun it at others. 30 min and 6 h: common practice for joint primers.
fn prime_at(clock: &str) -> Site {
    let site = site::with_frame(clock);
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19"]);
    site.ok(["record", "prime", "--on", "N/J1"]);
    site
}

#[test]
fn r6_before_the_earliest_is_refused_with_the_time_it_opens() {
    let site = prime_at("2026-03-02T10:00:00+13:00");
    site.clock("2026-03-02T10:29:00+13:00");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("waiting"));
    let said = site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    assert_eq!(said["opens_at"], "2026-03-02T10:30:00+13:00");
    site.clock("2026-03-02T10:30:00+13:00");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("open"));
    let told = site.ok(["record", "gun", "--on", "N/J1"]);
    assert_eq!(told["closed"][0]["what"], "window");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1"), None);
}

#[test]
fn r6_a_step_recorded_late_says_what_lapsed_before_it_was_recorded() {
    let lapsed = |told: &serde_json::Value| {
        assert_eq!(told["opened"], serde_json::json!([]));
        let closed = told["closed"].as_array().unwrap();
        closed.iter().map(|mark| (mark["id"].as_str().unwrap().to_owned(), mark["says"].clone())).collect::<Vec<_>>()
    };
    let site = site::with_frame("2026-03-02T08:00:00+13:00");
    site.clock("2026-03-02T15:00:00+13:00");
    let told = site.ok("record prime --on N/J1 --at 08:35");
    let says = "primer to sealant: lapsed 14:35, 25 min ago";
    assert_eq!(lapsed(&told), [("primer-to-sealant N/J1".to_owned(), says.into())]);
    // The same where something that happened later is on record; and of rain that fell in between.
    let told = site.ok("record prime --on N/J2 --at 08:30");
    assert_eq!(lapsed(&told)[0].0, "primer-to-sealant N/J2");
    site.ok("reading --on N --rain --at 14:50");
    let told = site.ok("record prime --on N/J3 --at 14:45");
    let says = "primer to sealant: lapsed 14:50 by rain";
    assert_eq!(lapsed(&told), [("primer-to-sealant N/J3".to_owned(), says.into())]);
    // And of what is begun while work is stopped for rain.
    site.ok("stoppage start --on N --rain --told Bea");
    let told = site.ok("record prime --on N/J4 --anyway --why 'it was under cover'");
    assert_eq!(lapsed(&told)[0].0, "primer-to-sealant N/J4");
    // What is struck may be what had met a window.
    let site = prime_at("2026-03-02T09:00:00+13:00");
    site.clock("2026-03-02T10:00:00+13:00").ok("record gun --on N/J1");
    let told = site.clock("2026-03-02T16:00:00+13:00").ok("undo");
    let says = "primer to sealant: lapsed 15:00, 1 h ago";
    assert_eq!(lapsed(&told), [("primer-to-sealant N/J1".to_owned(), says.into())]);
}

#[test]
fn r6_what_was_begun_before_the_earliest_is_refused_though_it_was_done_after() {
    let site = prime_at("2026-03-02T10:00:00+13:00");
    site.clock("2026-03-02T10:35:00+13:00");
    let said = site.refused("R6", ["record", "gun", "--on", "N/J1", "--began", "10:29"]);
    assert_eq!(said["opens_at"], "2026-03-02T10:30:00+13:00");
    site.ok(["record", "gun", "--on", "N/J1", "--began", "10:30"]);
}

#[test]
fn r6_after_the_latest_is_refused_and_priming_is_asked_again() {
    let site = prime_at("2026-03-02T09:00:00+13:00");
    site.clock("2026-03-02T14:00:00+13:00");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("closing"));
    site.clock("2026-03-02T15:00:00+13:00");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("closing"), "open up to the very end");
    assert!(site.next_of("prime", "N/J1").is_none());
    site.clock("2026-03-02T15:01:00+13:00");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("lapsed"));
    let said = site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    assert_eq!(said["closed_at"], "2026-03-02T15:00:00+13:00");
    assert!(clears(&said, "cladlog record prime --on N/J1"), "{said}");
    assert_eq!(site.next_of("prime", "N/J1").unwrap()["state"], "ready", "primed again");
    site.ok(["record", "prime", "--on", "N/J1"]);
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("waiting"));
}

#[test]
fn r6_at_the_very_latest_it_is_taken() {
    let site = prime_at("2026-03-02T09:00:00+13:00");
    site.clock("2026-03-02T15:00:00+13:00");
    site.ok(["record", "gun", "--on", "N/J1"]);
}

/// From priming at `begun`: a minute early is refused, at 30 minutes and at 6 hours it is taken, a minute past is not.
fn across(begun: &str, at_29: &str, at_30: &str, at_6_h: &str, past: &str) {
    let site = prime_at(begun);
    site.clock(at_29);
    site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    site.clock(past);
    site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    let told = site.ok(["record", "gun", "--on", "N/J1", "--at", at_30]);
    assert_eq!(told["entries"][0]["happened_at"], at_30);
    let site = prime_at(begun);
    site.clock(at_6_h);
    site.ok(["record", "gun", "--on", "N/J1"]);
}

#[test]
fn r6_windows_run_across_midnight() {
    across(
        "2026-03-02T23:50:00+13:00",
        "2026-03-03T00:19:00+13:00",
        "2026-03-03T00:20:00+13:00",
        "2026-03-03T05:50:00+13:00",
        "2026-03-03T05:51:00+13:00",
    );
}

#[test]
fn r6_windows_run_across_the_clocks_going_forward() {
    // tz database, Pacific/Auckland: 2026-09-27 02:00 +12:00 becomes 03:00 +13:00.
    across(
        "2026-09-27T01:45:00+12:00",
        "2026-09-27T03:14:00+13:00",
        "2026-09-27T03:15:00+13:00",
        "2026-09-27T08:45:00+13:00",
        "2026-09-27T08:46:00+13:00",
    );
}

#[test]
fn r6_windows_run_across_the_clocks_going_back() {
    // tz database, Pacific/Auckland: 2026-04-05 03:00 +13:00 becomes 02:00 +12:00.
    across(
        "2026-04-05T02:45:00+13:00",
        "2026-04-05T02:14:00+12:00",
        "2026-04-05T02:15:00+12:00",
        "2026-04-05T07:45:00+12:00",
        "2026-04-05T07:46:00+12:00",
    );
}

#[test]
fn r6_rain_on_the_wall_lapses_the_window_at_once() {
    let site = prime_at("2026-03-02T10:00:00+13:00");
    site.clock("2026-03-02T10:40:00+13:00");
    site.ok(["reading", "--on", "E", "--air", "18", "--humidity", "90", "--surface", "19", "--rain"]);
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("open"), "rain on another wall");
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19", "--rain"]);
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("lapsed"));
    let said = site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    assert_eq!(said["closed_at"], "2026-03-02T10:40:00+13:00");
}

#[test]
fn r6_rain_told_too_late_makes_a_defect_of_the_joint_sealed_after_it() {
    let site = prime_at("2026-03-02T10:00:00+13:00");
    site.clock("2026-03-02T11:00:00+13:00");
    site.ok(["record", "gun", "--on", "N/J1"]);
    site.clock("2026-03-02T12:00:00+13:00");
    let told = site.ok([
        "reading",
        "--on",
        "N",
        "--air",
        "18",
        "--humidity",
        "60",
        "--surface",
        "19",
        "--rain",
        "--at",
        "10:30",
    ]);
    assert!(told["opened"].as_array().unwrap().iter().any(|mark| mark["what"] == "defect"), "{told}");
    assert_eq!(site.open_defect_ids().len(), 1);
}

#[test]
fn r6_bounds_follow_the_surface_temperature_to_the_safe_side() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    // Between the rows of 10 and 20 °C: the later earliest (6 h) and the earlier latest (12 h).
    site.ok(["reading", "--on", "N", "--air", "14", "--humidity", "60", "--surface", "15"]);
    site.ok(["record", "coat", "--on", "N"]);
    let window = &site.ok(["window", "list"])["windows"][0];
    assert_eq!(window["opens_at"], "2026-03-02T12:00:00+13:00");
    assert_eq!(window["closes_at"], "2026-03-02T18:00:00+13:00");
    // It grows warmer: the hottest row that was met narrows the end, the coldest keeps the beginning.
    site.clock("2026-03-02T09:00:00+13:00");
    site.ok(["reading", "--on", "N", "--air", "26", "--humidity", "40", "--surface", "30"]);
    let window = &site.ok(["window", "list"])["windows"][0];
    assert_eq!(window["opens_at"], "2026-03-02T12:00:00+13:00");
    assert_eq!(window["closes_at"], "2026-03-02T11:00:00+13:00", "it can't be met any more: coat again");
}

#[test]
fn r6_with_no_reading_the_strictest_row_counts() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    site.ok(["record", "coat", "--on", "N"]);
    let window = &site.ok(["window", "list"])["windows"][0];
    assert_eq!(window["opens_at"], "2026-03-02T12:00:00+13:00");
    assert_eq!(window["closes_at"], "2026-03-02T11:00:00+13:00");
}

#[test]
fn r7_a_step_with_limits_needs_a_reading_that_is_not_stale() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T06:40:00+13:00");
    site.refused("R7", ["record", "gun", "--on", "N/J1"]);
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19"]);
    site.clock("2026-03-02T14:41:00+13:00");
    site.ok(["record", "prime", "--on", "N/J2", "--at", "12:00"]);
    site.refused("R7", ["record", "gun", "--on", "N/J2"]);
}

#[test]
fn r7_a_reading_out_of_limits_says_what_would_bring_it_in() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T06:40:00+13:00");
    // Dew point at 25 °C and 80 %: 21.3 °C by WMO-No. 8 Annex 4.B, so a surface of 22 °C is 0.7 °C over it.
    site.ok(["reading", "--on", "N", "--air", "25", "--humidity", "80", "--surface", "22"]);
    let said = site.refused("R7", ["record", "gun", "--on", "N/J1"]);
    // In words: tests/messages/windows.txt. What would bring it in is the difference, 2.3 °C.
    assert!(said["why"].as_str().unwrap().contains("0.7 °C"), "{said}");
    assert!(clears(&said, "2.3 °C") && clears(&said, "cladlog reading --on N"), "{said}");
}

#[test]
fn r6_sealant_that_has_to_come_out_spends_its_primer() {
    // The shipped sequence: tooling lapses 10 min after gunning (common practice; the sealant maker's time comes first).
    let mut bench = crate::harness::Bench::at("2026-03-04T14:30:00+13:00");
    bench.run(["demo", "out"]).exits(0);
    bench.set_clock("2026-03-06T15:00:00+13:00");
    let run = |bench: &crate::harness::Bench, line: &str| {
        bench.run(["--db", "out/demo.db", "--json"].into_iter().chain(line.split(' ')))
    };
    bench.run(["--db", "out/demo.db", "day", "open", "--crew", "Mere Tahana"]).exits(0);
    // Prime and gun a finished joint again, and let the tooling lapse.
    let at = |bench: &mut crate::harness::Bench, time: &str| bench.set_clock(&format!("2026-03-06T{time}:00+13:00"));
    let anyway = "--anyway --why rehearsed";
    run(&bench, &format!("record prime --on S/J1 --answer primer-batch=P {anyway}")).exits(0);
    at(&mut bench, "15:40");
    run(&bench, &format!("record gun --on S/J1 --answer sealant-batch=S {anyway}")).exits(0);
    at(&mut bench, "16:05");
    run(&bench, "reading --on S --air 17 --humidity 60 --surface 18").exits(0);
    let said = run(&bench, "record gun --on S/J1 --answer sealant-batch=S").exits(1).json();
    let next = run(&bench, "next").exits(0).json();
    let steps: Vec<&str> =
        next["actions"].as_array().unwrap().iter().map(|action| action["step"].as_str().unwrap()).collect();
    assert!(["mask", "prime", "gun"].iter().all(|step| steps.contains(step)), "{next}");
    assert_eq!(said["refused"]["rule"], "R6");
    assert!(clears(&said["refused"], "cladlog record mask --on S/J1"), "{said}");
}

#[test]
fn r6_a_window_that_closed_before_it_rained_was_closed_by_time() {
    let site = prime_at("2026-03-02T09:00:00+13:00");
    site.clock("2026-03-02T15:20:00+13:00");
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19", "--rain"]);
    let said = site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    assert_eq!(said["closed_at"], "2026-03-02T15:00:00+13:00");
    assert_eq!(site.ok(["window", "list"])["windows"][0]["lapsed_at"], "2026-03-02T15:00:00+13:00");
}

#[test]
fn r6_times_are_told_by_the_clocks_of_their_own_day() {
    // tz database, Pacific/Auckland: 2026-04-05 03:00 +13:00 becomes 02:00 +12:00; 6 h after 23:30 it is 04:30.
    let site = prime_at("2026-04-04T23:30:00+13:00");
    let window = site.ok(["window", "list"])["windows"][0].clone();
    assert_eq!(window["opens_at"], "2026-04-05T00:00:00+13:00");
    assert_eq!(window["warns_at"], "2026-04-05T03:30:00+12:00");
    assert_eq!(window["closes_at"], "2026-04-05T04:30:00+12:00");
    site.clock("2026-04-05T04:31:00+12:00");
    let refused = site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    assert_eq!(refused["closed_at"], "2026-04-05T04:30:00+12:00");
}

#[test]
fn r6_a_window_that_closes_before_it_opens_is_not_waited_for() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    // With no reading every row of the table might hold: not before 6 h, not after 5 h.
    site.ok(["record", "coat", "--on", "N"]);
    for (clock, closed) in [("2026-03-02T10:00:00+13:00", false), ("2026-03-02T11:30:00+13:00", true)] {
        site.clock(clock);
        let said = site.refused("R6", ["record", "recoat", "--on", "N"]);
        assert!(clears(&said, "cladlog record coat --on N"), "{said}");
        assert!(said.get("opens_at").is_none(), "waiting clears nothing: {said}");
        assert_eq!(said.get("closed_at").is_some(), closed, "{said}");
    }
}

#[test]
fn r7_a_margin_over_the_dew_point_is_read_to_the_safe_side() {
    let site = site::with_frame("2026-03-02T06:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T06:40:00+13:00");
    // Saturated air is at its dew point, so that the margin is the difference: 2.96 °C is not 3 °C.
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "100", "--surface", "20.96"]);
    let said = site.refused("R7", ["record", "gun", "--on", "N/J1"]);
    assert!(said["why"].as_str().unwrap().contains("2.9 °C"), "{said}");
    // And three degrees are, whatever the last bit of a float: 23.1 - 20.1.
    site.ok(["reading", "--on", "N", "--air", "20.1", "--humidity", "100", "--surface", "23.1"]);
    site.ok(["record", "gun", "--on", "N/J1"]);
}
