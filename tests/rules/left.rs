//! R9 and R12: somebody leaves before the day is closed, and may come back.

use super::site;
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

/// The frame of N released at nine; only Lea has read about the dust that hanging makes.
fn ready_to_hang() -> Site {
    let site = site::with_frame(MONDAY);
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    site.ok("caution acknowledge dust --person Lea");
    site.clock("09:00");
    site
}

/// How many defects by R9 are open.
fn unread(site: &Site) -> usize {
    site.open_defects().iter().filter(|defect| defect.contains("r9-dust")).count()
}

#[test]
fn r9_no_caution_waits_for_whoever_left() {
    let site = ready_to_hang();
    site.refused("R9", "record course --on N/C1");
    let left = site.ok("day leave ivo");
    assert_eq!(left["entries"][0]["kind"], "day-left");
    site.refused("R12", "caution acknowledge dust --person Ivo");
    site.clock("10:00").ok("record course --on N/C1");
    // Back on site, he has still to read it.
    site.clock("13:00").ok("day join --crew Ivo");
    site.refused("R9", "record course --on N/C2");
    site.ok("caution acknowledge dust --person Ivo");
    site.ok("record course --on N/C2");
    assert_eq!(unread(&site), 0);
    site.ok("verify");
}

#[test]
fn r9_whoever_had_left_before_is_not_waited_for_once_that_is_recorded() {
    let site = ready_to_hang();
    site.ok("record course --on N/C1 --anyway --why 'Ivo had gone'");
    assert_eq!(unread(&site), 1);
    let left = site.clock("10:00").entry("day leave Ivo --at 08:30");
    assert_eq!(unread(&site), 0);
    site.ok(["strike", &left, "--why", "it was Bea", "--anyway"]);
    assert_eq!(unread(&site), 1);
    // One undo takes the striking back.
    site.ok("undo");
    assert_eq!(unread(&site), 0);
    site.ok("rebuild");
    assert_eq!(unread(&site), 0);
}

#[test]
fn r12_only_whoever_is_on_site_leaves_and_somebody_stays() {
    let site = site::open(MONDAY);
    site.refused("R12", "day leave Bea");
    site.refused("R12", "day leave Lea Ivo");
    site.bad("day leave Nobody");
    site.ok("day leave Ivo");
    site.refused("R12", "day leave Ivo");
    site.refused("R12", "day leave Lea");
    // The hours of whoever left are still asked for, and nobody is asked for twice.
    site.clock("12:00").ok("day join --crew Ivo");
    assert!(site.bad("day close --hours Lea=8").ends_with("the hours of Ivo are missing: --hours Ivo=8\n"));
    site.clock("16:00").ok("day close --hours Lea=8 Ivo=4");
    site.refused("R12", "day leave Ivo");
}

#[test]
fn r5_an_inspector_on_site_took_no_part_in_the_work() {
    let site = site::closed(MONDAY).with_day(&["Lea", "Ivo"]);
    site.ok("day join --crew Ines");
    site.clock("10:00").ok("--by Ivo record frame --on N --answer flat=2");
    // Lea may release it by her role, and was on the crew that did it.
    site.refused("R5", "hold release cover --on N --person Lea --how 'on site'");
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    assert_eq!(site.open_defects(), [""; 0]);
}

#[test]
fn of_two_files_the_one_hears_from_the_other_who_left() {
    let lea = ready_to_hang();
    let ivo = lea.second("ivo", "Ivo");
    // He has no day of his own: he leaves hers.
    ivo.clock("12:00").ok("day leave Ivo");
    ivo.ok("export left.jsonl");
    lea.refused("R9", "record course --on N/C1");
    lea.ok("merge left.jsonl");
    lea.ok("record course --on N/C1");
    let report = lea.ok("day report");
    let of_ivo = report["crew"].as_array().unwrap().iter().find(|one| one["name"] == "Ivo").unwrap();
    assert_eq!(of_ivo["left_at"], "2026-03-02T12:00:00+13:00", "{report}");
}
