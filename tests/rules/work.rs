//! R4, R5 and R8 to R13: order, holds, asks, cautions, authority, the truth, the day, the pinned sequence.

use super::{clears, site};
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

fn released(clock: &str) -> Site {
    let site = site::with_frame(clock);
    site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    site.ok(["caution", "acknowledge", "dust", "--person", "Lea", "Ivo"]);
    site
}

#[test]
fn r4_a_step_waits_for_what_comes_before_it_on_its_wall() {
    let site = site::open(MONDAY);
    let said = site.refused("R4", ["record", "prime", "--on", "N/J1"]);
    assert!(clears(&said, "cladlog record frame --on N"), "{said}");
    site.ok(["record", "frame", "--on", "E", "--answer", "flat=1"]);
    site.refused("R4", ["record", "prime", "--on", "N/J1"]);
    site.ok(["record", "prime", "--on", "E/J1"]);
}

#[test]
fn r4_courses_go_up_in_turn_and_one_record_may_cover_several() {
    let site = released(MONDAY);
    site.refused("R4", ["record", "course", "--on", "N/C2"]);
    let told = site.ok(["record", "course", "--on", "N/C1..3"]);
    let subjects: Vec<&str> =
        told["entries"].as_array().unwrap().iter().map(|entry| entry["subject"].as_str().unwrap()).collect();
    assert_eq!(subjects, ["N/C1", "N/C2", "N/C3"]);
}

#[test]
fn r4_of_several_subjects_all_are_recorded_or_none() {
    let site = released(MONDAY);
    let before = site.log().len();
    site.refused("R4", ["record", "course", "--on", "N/C1,N/C3"]);
    assert_eq!(site.log().len(), before);
}

#[test]
fn r4_every_third_course_and_the_first_and_last_are_asked() {
    let site = released(MONDAY);
    site.ok(["record", "course", "--on", "N/C1..7"]);
    let asked: Vec<bool> = (1..=7).map(|n| site.next_of("level", &format!("N/C{n}")).is_some()).collect();
    assert_eq!(asked, [true, false, true, false, false, true, true]);
}

#[test]
fn r5_what_a_hold_point_holds_is_refused_by_name() {
    let site = site::with_frame(MONDAY);
    site.refused("R5", ["record", "course", "--on", "N/C1"]);
    site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site", "--evidence", "note 3"]);
    let holds = site.ok(["hold", "list"]);
    let of_n = holds["holds"].as_array().unwrap().iter().find(|hold| hold["subject"] == "N").unwrap();
    assert_eq!((of_n["state"].as_str(), of_n["released_by"].as_str()), (Some("released"), Some("Ines")));
    assert_eq!(of_n["released_at"], MONDAY);
    site.refused("R9", ["record", "course", "--on", "N/C1"]);
}

#[test]
fn r5_who_did_the_work_can_not_release_it() {
    let site = site::with_frame(MONDAY);
    // Lea has a role that the hold point names, and recorded the frame.
    site.refused("R5", ["hold", "release", "cover", "--on", "N", "--person", "Lea", "--how", "on site"]);
}

#[test]
fn r5_a_hold_point_is_released_only_when_what_it_covers_is_complete() {
    let site = site::with_frame(MONDAY);
    site.refused("R5", ["hold", "release", "cover", "--on", "N,E", "--person", "Ines", "--how", "on site"]);
    assert!(site.ok(["hold", "list"])["holds"].as_array().unwrap().iter().all(|hold| hold["state"] == "held"));
}

#[test]
fn r5_a_release_may_be_asked_for_before_it_is_due() {
    let site = site::with_frame(MONDAY);
    for wall in ["N", "E"] {
        let asked = site.ok(["hold", "ask", "cover", "--on", wall]);
        assert_eq!(asked["entries"][0]["kind"], "hold-asked");
    }
    assert!(site.ok("hold list")["holds"].as_array().unwrap().iter().all(|hold| hold["state"] == "held"));
}

#[test]
fn r5_a_refused_release_opens_a_defect_that_the_release_closes() {
    let site = site::with_frame(MONDAY);
    let told = site.ok(["hold", "refuse", "cover", "--on", "N", "--person", "Ines", "--why", "a stud is split"]);
    let id = told["opened"][0]["id"].as_str().unwrap().to_owned();
    assert_eq!(site.open_defect_ids(), std::slice::from_ref(&id));
    site.refused("R5", ["record", "course", "--on", "N/C1"]);
    let told = site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    assert!(told["closed"].as_array().unwrap().iter().any(|mark| mark["id"] == id.as_str()), "{told}");
    assert!(site.open_defect_ids().is_empty());
}

#[test]
fn r8_out_of_tolerance_is_recorded_opens_a_defect_and_keeps_the_step_open() {
    let site = site::open(MONDAY);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=5"]);
    let defect = told["opened"][0]["id"].as_str().unwrap().to_owned();
    assert_eq!(site.next_of("frame", "N").unwrap()["state"], "ready");
    site.refused("R4", ["record", "prime", "--on", "N/J1"]);
    site.refused("R8", ["defect", "close", &defect, "--person", "Lea", "--how", "looks fine"]);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=3"]);
    assert_eq!(told["closed"][0]["id"], defect.as_str());
    assert!(site.next_of("frame", "N").is_none());
    site.ok(["record", "prime", "--on", "N/J1"]);
}

#[test]
fn r8_a_concession_lets_a_measurement_stand() {
    let site = site::open(MONDAY);
    let told = site.ok(["record", "frame", "--on", "N", "--answer", "flat=5"]);
    let defect = told["opened"][0]["id"].as_str().unwrap();
    site.refused("R10", ["defect", "concede", defect, "--person", "Bea", "--why", "it is behind the downpipe"]);
    site.ok(["defect", "concede", defect, "--person", "Dag", "--why", "it is behind the downpipe"]);
    assert_eq!(site.ok(["defect", "list"])["defects"][0]["state"], "conceded");
    site.ok(["record", "prime", "--on", "N/J1"]);
}

#[test]
fn r9_each_person_on_site_acknowledges_a_caution_once_a_day() {
    let site = site::with_frame(MONDAY);
    site.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    let said = site.refused("R9", ["record", "course", "--on", "N/C1"]);
    assert!(clears(&said, "cladlog caution acknowledge dust --person Lea Ivo"), "{said}");
    site.ok(["caution", "acknowledge", "dust", "--person", "Lea"]);
    site.refused("R9", ["record", "course", "--on", "N/C1"]);
    site.ok(["caution", "acknowledge", "dust", "--person", "Ivo"]);
    site.ok(["record", "course", "--on", "N/C1"]);
    // Who joins later is asked when they join.
    site.clock("2026-03-02T10:00:00+13:00");
    site.ok(["day", "join", "--crew", "Bea"]);
    let said = site.refused("R9", ["record", "course", "--on", "N/C2"]);
    assert!(clears(&said, "cladlog caution acknowledge dust --person Bea"), "{said}");
    site.ok(["caution", "acknowledge", "dust", "--person", "Bea"]);
    site.ok(["record", "course", "--on", "N/C2"]);
    // The next day everybody is asked again.
    site.clock("2026-03-02T17:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8", "Bea=6"]);
    site.clock("2026-03-03T07:00:00+13:00");
    site.ok(["day", "open", "--crew", "Lea"]);
    site.refused("R9", ["record", "course", "--on", "N/C3"]);
}

#[test]
fn r10_the_sequence_says_who_may_release_close_and_concede() {
    let site = site::with_frame(MONDAY);
    site.refused("R10", ["hold", "release", "cover", "--on", "N", "--person", "Bea", "--how", "by phone"]);
    let told = site.ok(["defect", "open", "--on", "N", "--what", "torn wrap"]);
    let defect = told["opened"][0]["id"].as_str().unwrap();
    site.refused("R10", ["defect", "close", defect, "--person", "Ivo", "--how", "taped"]);
    site.ok(["defect", "close", defect, "--person", "Bea", "--how", "taped"]);
    site.bad(["defect", "close", defect, "--person", "Nobody", "--how", "taped"]);
}

#[test]
fn r11_what_happened_can_always_be_told_and_opens_a_defect() {
    let site = site::with_frame(MONDAY);
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19"]);
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T08:20:00+13:00");
    site.refused("R6", ["record", "gun", "--on", "N/J1"]);
    let told = site.ok(["record", "gun", "--on", "N/J1", "--anyway", "--why", "gunned before anybody looked"]);
    let opened = told["opened"].as_array().unwrap();
    assert!(
        opened
            .iter()
            .any(|mark| mark["what"] == "defect" && mark["id"].as_str().unwrap().ends_with(".r6-primer-to-sealant"))
    );
    assert!(site.next_of("gun", "N/J1").is_none(), "it is done, and known to be wrong");
    site.bad(["record", "gun", "--on", "N/J2", "--anyway"]);
}

#[test]
fn r12_work_is_recorded_in_an_open_day() {
    let site = site::closed(MONDAY);
    site.refused("R12", ["record", "frame", "--on", "N", "--answer", "flat=1"]);
    site.bad(["day", "open"]);
    site.ok(["day", "open", "--crew", "Lea", "Ivo", "--talk", "lifting", "--hazard", "wind"]);
    site.refused("R12", ["day", "open", "--crew", "Lea"]);
    site.ok(["record", "frame", "--on", "N", "--answer", "flat=1"]);
    site.bad(["day", "close"]);
    site.clock("2026-03-02T17:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "--hours", "Ivo=7.5"]);
    site.refused("R12", ["record", "frame", "--on", "E", "--answer", "flat=1"]);
    // What was done during the day can still be entered with its time.
    site.ok(["record", "frame", "--on", "E", "--answer", "flat=1", "--at", "16:30"]);
}

#[test]
fn r12_closing_the_day_names_what_lapses_overnight_and_what_is_open_to_rain() {
    let site = released("2026-03-02T15:00:00+13:00");
    site.ok(["record", "course", "--on", "N/C1..4"]);
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T16:00:00+13:00");
    let evening = site.text("day close --hours Lea=8 Ivo=8");
    // In words: tests/messages/day.txt.
    assert!(["N/J1", "21:00", "N/C5"].iter().all(|said| evening.contains(said)), "{evening}");
}

#[test]
fn r13_a_job_keeps_the_sequence_that_it_was_started_with() {
    let site = site::with_frame(MONDAY);
    let pinned = site.ok(["job", "show"])["sequence"]["sha256"].clone();
    let text = std::fs::read_to_string(site.path("small.toml")).unwrap();
    // The file changes under the running job: the job does not.
    std::fs::write(site.path("small.toml"), text.replace("most = 3", "most = 1")).unwrap();
    assert_eq!(site.ok(["job", "show"])["sequence"]["sha256"], pinned);
    site.ok(["record", "frame", "--on", "E", "--answer", "flat=2"]);
    assert!(site.open_defect_ids().is_empty());
    // Adopted, it holds for what is recorded from then on, not for what was.
    site.clock("2026-03-02T09:00:00+13:00");
    // Another text under the same edition would pass for the one that was agreed.
    site.refused("R13", ["sequence", "adopt", "small.toml", "--why", "the builder wants it"]);
    let text = std::fs::read_to_string(site.path("small.toml")).unwrap();
    std::fs::write(site.path("small.toml"), text.replace("edition = \"1\"", "edition = \"2\"")).unwrap();
    site.ok(["sequence", "adopt", "small.toml", "--why", "the builder wants the frame within 1 mm"]);
    assert_ne!(site.ok(["job", "show"])["sequence"]["sha256"], pinned);
    assert!(site.open_defect_ids().is_empty());
    site.ok(["record", "frame", "--on", "E", "--answer", "flat=2"]);
    assert_eq!(site.open_defect_ids().len(), 1);
    site.refused("R13", ["sequence", "adopt", "small.toml", "--why", "once more"]);
    std::fs::write(site.path("small.toml"), "key = 1").unwrap();
    site.bad("sequence adopt small.toml --why broken");
}

#[test]
fn r15_every_number_has_its_basis_where_it_is_shown() {
    let site = site::closed(MONDAY);
    let shown = site.text(["sequence", "show"]);
    assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    for number in ["at most 3 mm [common practice: 3 mm]", "[common practice: 30 min and 6 h for joint primers]"] {
        assert!(shown.contains(number), "{shown}");
    }
}

#[test]
fn r12_a_day_left_open_does_not_carry_over_to_the_next() {
    let site = site::with_frame(MONDAY);
    site.clock("2026-03-03T07:30:00+13:00");
    site.refused("R12", ["record", "frame", "--on", "E", "--answer", "flat=1"]);
    site.refused("R12", ["day", "open", "--crew", "Lea"]);
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8", "--at", "2026-03-02T17:00:00+13:00"]);
    // Closed is closed: an earlier end would take the footing from what was done since.
    site.refused("R12", ["day", "close", "--hours", "Lea=8", "Ivo=8", "--at", "2026-03-02T16:00:00+13:00"]);
    site.ok(["day", "open", "--crew", "Lea"]);
    site.ok(["record", "frame", "--on", "E", "--answer", "flat=1"]);
}

#[test]
fn r11_an_empty_reason_is_no_reason() {
    let site = site::with_frame(MONDAY);
    site.bad(["record", "gun", "--on", "N/J1", "--anyway", "--why", " "]);
    site.bad(["defect", "open", "--on", "N", "--what", ""]);
    site.bad(["note", "--text", ""]);
}

#[test]
fn r12_a_day_is_closed_once_also_while_the_next_one_is_open() {
    let site = site::open(MONDAY);
    site.clock("2026-03-02T16:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8"]);
    site.clock("2026-03-03T07:00:00+13:00");
    site.ok(["day", "open", "--crew", "Lea"]);
    let close = ["day", "close", "--hours", "Lea=1", "Ivo=1", "--at", "2026-03-02T12:00:00+13:00"];
    site.refused("R12", close);
    assert_eq!(site.ok(["hours"])["total_hours"], 16.0);
}

#[test]
fn r12_a_day_that_was_left_open_is_closed_also_after_a_later_one() {
    let site = site::closed(MONDAY);
    site.clock("2026-03-03T07:00:00+13:00");
    site.ok(["day", "open", "--crew", "Lea", "Ivo"]);
    // The day before was never opened: it is told later, and closed after today.
    site.ok(["day", "open", "--crew", "Lea", "--at", "2026-03-02T08:00:00+13:00"]);
    site.clock("2026-03-03T16:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8"]);
    site.ok(["day", "close", "--hours", "Lea=7", "--at", "2026-03-02T15:00:00+13:00"]);
    let hours = site.ok(["hours"]);
    assert_eq!(
        (hours["total_hours"].as_f64(), hours["not_closed"].as_array().unwrap().len()),
        (Some(23.0), 0),
        "{hours}"
    );
}
