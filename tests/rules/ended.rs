//! R5 to R8: a defect that was open once stays listed, with how it ended and by whom; nobody ends their own.

use serde_json::Value;

use super::site;
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";
const READ: &str = "reading --on N --humidity 50 --air 18";

fn defect(site: &Site, id: &str) -> Value {
    let all = site.defects();
    all.iter()
        .find(|defect| defect["id"].as_str().unwrap().ends_with(id))
        .unwrap_or_else(|| panic!("{id}: {all:?}"))
        .clone()
}

#[test]
fn r8_a_struck_measurement_keeps_its_defect_listed() {
    let site = site::open(MONDAY);
    let struck = site.entry("record frame --on N --answer flat=6");
    site.ok(["strike", &struck, "--why", "typo"]);
    site.ok("record frame --on N --answer flat=3");
    let listed = defect(&site, "r8-flat");
    assert_eq!((&listed["void"], &listed["person"]), (&true.into(), &"Lea".into()), "{listed}");
    assert_eq!(listed["opened_by_entry"], struck.as_str());
    assert!(listed["how"].as_str().unwrap().contains("typo"), "{listed}");
    assert_eq!(site.open_defects(), [""; 0]);
    let reported = site.entry("defect open --on N --what 'torn wrap'");
    site.ok(["strike", &reported, "--why", "it was a shadow"]);
    assert_eq!(defect(&site, ".defect")["void"], true);
    assert_eq!(site.run("verify").code, 0);
    site.ok("rebuild");
    assert_eq!(site.defects().len(), 2);
    site.ok("pack pk --interim");
    assert_eq!(site.read("pk/handover.html").matches("VOID").count(), 2);
    site.ok("verify pk");
}

#[test]
fn r10_striking_what_opened_a_defect_takes_who_may_close_it() {
    let site = site::open(MONDAY);
    let struck = site.entry("--by Ivo record frame --on N --answer flat=6");
    let refused = site.refused("R10", ["--by", "Ivo", "strike", &struck, "--why", "typo"]);
    assert!(refused["why"].as_str().unwrap().contains("lead or builder"), "{refused}");
    let fine = site.entry("--by Ivo record frame --on E --answer flat=1");
    site.ok(["--by", "Ivo", "strike", &fine, "--why", "the other wall"]);
    site.ok(["strike", &struck, "--why", "typo"]);
}

/// A course hung past the hold point and a joint gunned without a reading, then a release and a reading of before.
fn let_pass_later() -> Site {
    let site = site::with_frame(MONDAY);
    site.ok("caution acknowledge dust --person Lea Ivo");
    site.clock("14:40").ok("record course --on N/C1 --anyway --why 'the crane was there'");
    site.ok("record prime --on N/J1 --at 14:00");
    site.ok("record gun --on N/J1 --anyway --why 'rain was coming'");
    assert_eq!(site.open_defects(), ["N/C1 r5-cover", "N/J1 r7-mild"]);
    site.clock("16:00").ok("hold release cover --on N --person Ines --how 'on site' --at 14:35");
    site.ok(format!("{READ} --surface 15 --at 14:36"));
    site
}

#[test]
fn r5_r7_a_late_release_and_a_late_reading_leave_the_defects_listed() {
    let site = let_pass_later();
    let log = site.log();
    let entry = |kind: &str| log.iter().find(|entry| entry["kind"] == kind).unwrap()["id"].clone();
    for (id, kind, person) in [("r5-cover", "hold-released", "Ines"), ("r7-mild", "reading-taken", "Lea")] {
        let listed = defect(&site, id);
        assert_eq!((&listed["void"], &listed["person"]), (&true.into(), &person.into()), "{listed}");
        assert_eq!(listed["ended_by_entry"], entry(kind), "{listed}");
    }
    assert_eq!(site.run("verify").code, 0);
    site.ok("pack pk --interim");
    let page = site.read("pk/handover.html");
    assert_eq!(page.matches("after the work it should have come before").count(), 2, "hold point and reading");
    let held = site.ok("hold list --on N")["holds"][0].clone();
    assert_eq!(held["after_work"], true, "{held}");
}

#[test]
fn r10_who_did_the_work_does_not_close_its_defect() {
    let site = site::with_frame(MONDAY);
    site.ok("caution acknowledge dust --person Lea Ivo");
    let course = site.entry("record course --on N/C1 --anyway --why 'the crane was there'");
    let id = format!("{course}.r5-cover");
    let refused = site.refused("R10", ["defect", "close", &id, "--person", "Lea", "--how", "it is fine"]);
    assert!(refused["why"].as_str().unwrap().contains("did that work"), "{refused}");
    site.ok(["defect", "close", &id, "--person", "Bea", "--how", "opened up and looked at"]);
}

#[test]
fn r5_a_release_holds_no_more_once_what_it_covers_is_done_again() {
    let site = site::with_frame(MONDAY);
    site.ok("caution acknowledge dust --person Lea Ivo");
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    site.clock("09:00").ok("record course --on N/C1");
    let again = site.clock("10:00").ok("record frame --on N --answer flat=1");
    assert_eq!(again["opened"][0]["what"], "hold", "{again}");
    let refused = site.refused("R5", "record course --on N/C2");
    assert!(refused["why"].as_str().unwrap().contains("Frame checked"), "{refused}");
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    site.ok("record course --on N/C2");
    // What was hung before was hung after a release.
    assert_eq!(site.open_defects(), [""; 0]);
}

#[test]
fn r6_of_two_steps_at_one_moment_the_one_recorded_first_came_first() {
    let site = site::with_frame(MONDAY);
    site.ok(format!("{READ} --surface 15"));
    site.ok("record prime --on N/J1");
    site.clock("10:00").ok("record gun --on N/J1");
    // Primed again in the same minute: the gunning before it does not answer this priming.
    site.ok("record prime --on N/J1");
    assert_ne!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("met"));
    assert!(site.next_of("gun", "N/J1").is_some());
}

#[test]
fn r2_a_step_with_a_past_time_does_not_take_the_footing_of_what_came_after_it_unasked() {
    let site = site::with_frame(MONDAY);
    site.ok(format!("{READ} --surface 15"));
    site.ok("record prime --on N/J1");
    site.clock("08:40").ok("record gun --on N/J1");
    let again = "record prime --on N/J1 --at 08:20";
    let refused = site.clock("09:00").refused("R2", again);
    assert!(refused["why"].as_str().unwrap().contains("Gun the joint"), "{refused}");
    site.ok(format!("{again} --anyway --why 'it was primed again'"));
    assert_eq!(site.open_defects(), ["N/J1 r6-primer-to-sealant"]);
    // A wrong answer is so, whatever it means for what came after.
    site.ok("record frame --on N --answer flat=9 --at 08:25");
}
