//! R14 and R3: a clock that is wrong, and what clears it; times that can't be.

use cladlog::day::DecideError;
use cladlog::journal::{Journal, JournalError};
use cladlog::moment::Moment;
use cladlog::record::{AddNote, Store};
use cladlog::refusal::Rule;
use serde_json::Value;

use super::clears;
use super::site;
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";
const A_YEAR_LATER: &str = "2027-03-02T08:05:00+13:00";

/// An entry recorded with the clock a year ahead, the clock right again: gives its id.
fn recorded_ahead(site: &Site) -> String {
    let id = site.clock(A_YEAR_LATER).entry("note --on N --text oops");
    site.clock("08:10");
    id
}

#[test]
fn r14_an_entry_recorded_with_the_clock_ahead_can_be_struck_and_clears_the_way() {
    let site = site::with_frame(MONDAY);
    let ahead = recorded_ahead(&site);
    let refused = site.refused("R14", "note --on N --text x");
    assert!(clears(&refused, &format!("cladlog strike {ahead}")), "{refused}");
    assert!(refused["why"].as_str().unwrap().contains("2027"), "the year: {refused}");
    site.run("pack pk --interim").exits(1);
    site.ok(["strike", &ahead, "--why", "the clock was ahead"]);
    site.ok("note --on N --text x");
    site.ok("record frame --on E --answer flat=1");
    site.ok("pack pk --interim");
    site.ok("verify");
    site.ok("verify pk");
}

#[test]
fn r14_what_opened_a_defect_ahead_can_be_struck_by_anybody() {
    let site = site::closed(MONDAY);
    let day = site.clock(A_YEAR_LATER).entry("day open --crew Lea --talk t");
    let ahead = site.entry("record frame --on E --answer flat=9");
    site.clock("08:10");
    for id in [ahead, day] {
        site.refused("R14", "note --text x");
        site.ok(["--by", "Ivo", "strike", &id, "--why", "the clock was ahead"]);
    }
    site.ok("note --text x");
    assert_eq!(site.open_defects(), [""; 0]);
}

#[test]
fn r14_a_strike_of_any_other_entry_waits_for_the_clock() {
    let site = site::with_frame(MONDAY);
    let note = site.entry("note --on N --text a");
    recorded_ahead(&site);
    site.refused("R14", ["strike", &note, "--why", "slip"]);
}

#[test]
fn r14_a_record_with_a_struck_entry_from_ahead_is_merged_and_locks_nobody() {
    let lea = site::with_frame(MONDAY).beside("job", "Lea");
    let ivo = lea.second("ivo", "Ivo");
    let ahead = recorded_ahead(&lea);
    lea.ok("export lea.jsonl");
    let refused = ivo.refused("R14", "merge lea.jsonl");
    assert!(clears(&refused, &format!("cladlog strike {ahead}")), "{refused}");
    lea.ok(["strike", &ahead, "--why", "the clock was ahead"]);
    lea.ok("export struck.jsonl");
    ivo.ok("merge struck.jsonl");
    ivo.ok("note --text x");
    lea.ok("merge ivo.db");
    lea.ok("note --text y");
    assert_eq!(lea.run("verify").code, 0);
}

/// Notes what a journal of this file is asked to, at a time of the machine's own clock.
fn noted(site: &Site, clock: &str) -> Result<(), JournalError> {
    let store = Store::write_to(&site.path("job.db")).unwrap();
    let job = store.jobs().unwrap().remove(0);
    let now = Moment::parse_from_rfc3339(clock).unwrap();
    let note = AddNote { subject: "N".into(), text: "x".into() };
    Journal::open(store, job).unwrap().record(&note, "Lea", now, now).map(|_| ())
}

#[test]
fn r14_weeks_without_an_entry_are_asked_about() {
    let site = site::with_frame(MONDAY);
    noted(&site, "2026-03-16T08:00:00+13:00").unwrap();
    let refused = noted(&site, "2026-03-30T08:00:01+13:00").unwrap_err();
    let JournalError::Decide(DecideError::Refused(refused)) = refused else { panic!("{refused}") };
    assert_eq!(refused.rule, Rule::Clock);
    // The command itself by the machine's clock, which stands more than two weeks after 2020.
    let site = site::with_frame("2020-03-02T08:00:00+13:00");
    let note = |more: &[&str]| {
        let args = ["--db", "job.db", "--json", "--by", "Lea", "note", "--text", "x"];
        let output = site.bench().command().env_remove("CLADLOG_CLOCK").args(args).args(more).output().unwrap();
        let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
        (output.status.code(), answer["refused"].clone())
    };
    let (code, refused) = note(&[]);
    assert_eq!((code, &refused["rule"]), (Some(1), &"R14".into()));
    assert!(clears(&refused, "--clock-is-right"), "{refused}");
    assert_eq!(note(&["--clock-is-right"]).0, Some(0));
    assert_eq!(note(&[]).0, Some(0));
}

#[test]
fn r14_a_rehearsal_goes_on_by_as_many_weeks_as_its_clock_is_set_by() {
    let site = site::with_frame(MONDAY);
    site.clock("2026-04-12T08:00:00+12:00").ok("note --text 'six weeks later'");
    site.clock("2026-04-12T07:57:59+12:00").refused("R14", "note --text 'behind'");
}

#[test]
fn r14_a_copy_of_a_file_goes_on_by_the_clock_of_the_file() {
    let site = site::with_frame(MONDAY);
    site.clock("12:00").ok("note --text a");
    std::fs::copy(site.path("job.db"), site.path("copy.db")).unwrap();
    site.ok("backup backup.db");
    for name in ["copy", "backup"] {
        let copy = site.beside(name, "Lea");
        copy.clock("10:00");
        let refused = copy.refused("R14", "note --text b");
        assert!(clears(&refused, "cladlog strike"), "{refused}");
        copy.clock("11:58").ok("note --text b");
    }
}

#[test]
fn r3_nothing_happened_long_before_the_job_was_set_up() {
    let site = site::with_frame(MONDAY);
    site.refused("R3", "note --text x --at 1970-01-01T00:00:00+00:00");
    site.refused("R3", "note --text x --at 2026-01-30T07:59:00+13:00");
    site.ok("note --text 'the frame was looked at before the job was set up' --at 2026-02-27T10:00:00+13:00");
}

#[test]
fn r12_nobody_works_more_than_a_day_on_one_date() {
    let site = site::closed(MONDAY);
    for (from, to) in [("08:00", "08:30"), ("09:00", "09:30")] {
        site.clock(from).open_day(&["Lea", "Ivo"]);
        site.clock(to);
        let hours = if to == "08:30" { "day close --hours Lea=24 Ivo=10" } else { "day close --hours Lea=0 Ivo=14" };
        if to == "09:30" {
            let refused = site.refused("R12", "day close --hours Lea=1 Ivo=1");
            assert!(refused["why"].as_str().unwrap().contains("Lea"), "{refused}");
            site.refused("R12", "day close --hours Lea=0 Ivo=14.5");
        }
        site.ok(hours);
    }
}

#[test]
fn r14_a_clock_set_back_by_a_minute_does_not_change_the_order_of_the_record() {
    let site = site::with_frame(MONDAY);
    site.clock("09:00");
    let first = site.ok("note --on N --text a --at 08:50");
    let second = site.clock("08:59").ok("note --on N --text b --at 08:50");
    let recorded_at = |recorded: &serde_json::Value| recorded["entries"][0]["recorded_at"].clone();
    assert_eq!(recorded_at(&second), recorded_at(&first));
    // The later of the two is the one that counts.
    site.ok("record frame --on E --answer flat=9 --at 08:50");
    site.clock("08:58").ok("record frame --on E --answer flat=1 --at 08:50");
    assert_eq!(site.open_defects(), [""; 0]);
}
