//! R17: `undo` strikes what the last command of a file recorded, all of it, and nothing of anybody else's.

use serde_json::Value;

use crate::harness::site::Site;
use crate::harness::{Bench, root};
use crate::rules::site;

fn open() -> Site {
    site::with_frame("2026-03-02T08:00:00+13:00")
}

/// The kinds of the entries that are not struck, oldest first, strikes left out.
fn stands(site: &Site) -> Vec<String> {
    let log = site.log();
    let stands = log.iter().filter(|entry| entry["struck_by"].is_null() && entry["kind"] != "struck");
    stands.map(|entry| format!("{} {}", entry["kind"].as_str().unwrap(), entry["subject"].as_str().unwrap())).collect()
}

fn count(told: &Value) -> usize {
    told["entries"].as_array().unwrap().len()
}

#[test]
fn undo_takes_back_command_after_command_each_as_one() {
    let site = open();
    let before = stands(&site);
    site.ok("note --on N --text one");
    // All three bear one time: two commands are told apart all the same.
    site.ok("note --on N,E --text two");
    site.ok("note --on N/C1..3 --text three");
    let told = site.ok("undo");
    assert_eq!(count(&told), 3, "{told}");
    assert_eq!(told["entries"][0]["kind"], "struck");
    assert_eq!(count(&site.ok("undo")), 2);
    assert_eq!(count(&site.ok("undo --why 'wrong wall'")), 1);
    assert_eq!(stands(&site), before);
    assert_eq!(site.ok("verify")["ok"], true);
}

#[test]
fn entries_are_struck_last_first_and_what_depends_on_them_is_told_first() {
    let site = open();
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    site.ok("caution acknowledge dust --person Lea Ivo");
    // Each course stands on the one below it.
    site.ok("record course --on N/C1..3");
    let level = site.entry("record level --on N/C1 --answer out=1");
    assert_eq!(count(&site.ok("undo")), 1);
    assert_eq!(count(&site.ok("undo")), 3);
    assert_eq!(site.open_defects(), [""; 0]);
    assert!(site.log().iter().any(|entry| entry["id"] == level.as_str() && entry["struck_by"].is_string()));
    // What somebody else's work stands on is not taken from under it unasked.
    site.ok("record course --on N/C1");
    let other = site.second("ivo", "Ivo");
    other.open_day(&["Ivo"]);
    other.ok("caution acknowledge dust --person Ivo");
    other.ok("record course --on N/C2");
    site.ok("merge ivo.db");
    let refused = site.refused("R2", "undo");
    assert!(refused["why"].as_str().unwrap().contains("N/C2"), "{refused}");
    site.ok("undo --anyway");
    assert_eq!(site.open_defects(), ["N/C2 r4-order"]);
}

#[test]
fn what_the_undone_entry_had_mended_is_open_again_and_is_no_reason_to_refuse() {
    let site = open();
    let opened = |told: &Value| -> Vec<String> {
        let defects = told["opened"].as_array().unwrap().iter().filter(|mark| mark["what"] == "defect");
        defects.map(|mark| mark["id"].as_str().unwrap().to_owned()).collect()
    };
    // A measurement out of tolerance, and the next in it.
    let wrong = site.entry("record frame --on N --answer flat=9");
    site.ok("record frame --on N --answer flat=2");
    assert_eq!(opened(&site.ok("undo")), [format!("{wrong}.r8-flat")]);
    assert_eq!(site.open_defects(), ["N r8-flat"]);
    // A concession.
    site.ok(["defect", "concede", &format!("{wrong}.r8-flat"), "--person", "Dag", "--why", "hidden"]);
    assert_eq!(opened(&site.ok("undo")), [format!("{wrong}.r8-flat")]);
    site.ok("record frame --on N --answer flat=2");
    // A defect that was closed.
    let torn = site.entry("defect open --on N --what torn");
    site.ok(["defect", "close", &format!("{torn}.defect"), "--person", "Lea", "--how", "taped"]);
    assert_eq!(opened(&site.ok("undo")), [format!("{torn}.defect")]);
    // A hold point that was refused, and then released.
    let refused = site.entry("hold refuse cover --on N --person Ines --why torn");
    site.ok("hold release cover --on N --person Ines --how 'on site'");
    assert_eq!(opened(&site.ok("undo")), [format!("{refused}.r5-cover")]);
    // The same by hand; and work that was recorded since still stands on it.
    let release = site.entry("hold release cover --on N --person Ines --how 'on site'");
    site.ok("caution acknowledge dust --person Lea Ivo");
    site.ok("record course --on N/C1");
    let stopped = site.refused("R2", ["strike", &release, "--why", "the other wall"]);
    let why = stopped["why"].as_str().unwrap();
    assert!(why.contains("on N/C1 (") && !why.contains(&refused), "{why}");
}

#[test]
fn a_strike_by_hand_is_a_command_and_an_undo_is_not() {
    let site = open();
    let note = site.entry("note --on N --text one");
    site.ok(["strike", &note, "--why", "wrong"]);
    let struck =
        |site: &Site| site.log().iter().any(|entry| entry["id"] == note.as_str() && entry["struck_by"].is_string());
    assert!(struck(&site));
    site.ok("undo");
    assert!(!struck(&site), "the strike is taken back");
    site.ok("undo");
    assert!(struck(&site), "then the note");
}

#[test]
fn setting_the_job_up_is_not_taken_back() {
    let site = site::closed("2026-03-02T08:00:00+13:00");
    let refused = site.refused("R17", "undo");
    assert!(refused["why"].as_str().unwrap().contains("set the job up"), "{refused}");
}

#[test]
fn nothing_of_another_file_is_taken_back() {
    let site = open();
    site.ok("note --on N --text mine");
    let ivo = site.second("ivo", "Ivo");
    ivo.refused("R17", "undo");
    ivo.ok("note --on N,E --text his");
    site.ok("merge ivo.db");
    // What came in by the merge is not this file's own.
    assert_eq!(count(&site.ok("undo")), 1);
    assert!(!stands(&site).is_empty());
    let his =
        |site: &Site| site.log().iter().filter(|entry| entry["by"] == "Ivo" && entry["struck_by"].is_null()).count();
    assert_eq!(his(&site), 2);
    ivo.ok("merge job.db");
    assert_eq!(count(&ivo.ok("undo")), 2);
    ivo.refused("R17", "undo");
}

#[test]
fn a_copy_takes_back_its_own_and_then_what_it_held_of_the_book_before() {
    let site = open();
    site.ok("note --on N,E --text before");
    std::fs::copy(site.path("job.db"), site.path("copy.db")).unwrap();
    let copy = site.beside("copy", "Lea");
    copy.ok("note --on N --text own");
    site.ok("note --on E --text later");
    copy.ok("merge job.db");
    assert_eq!(count(&copy.ok("undo")), 1);
    // Not what the other file went on with.
    assert_eq!(count(&copy.ok("undo")), 2);
    let later =
        |site: &Site| site.ok("log --on E")["entries"].as_array().unwrap().last().unwrap()["struck_by"].is_null();
    assert!(later(&copy));
    assert_eq!(copy.ok("verify")["ok"], true);
}

#[test]
fn a_file_of_an_earlier_schema_is_undone_entry_by_entry() {
    let bench = Bench::at("2026-03-02T12:00:00+13:00");
    std::fs::copy(root().join("tests/trust/fixtures/schema-4.db"), bench.path("old.db")).unwrap();
    let run = |args: &[&str]| bench.run(["--db", "old.db", "--json", "--by", "Lea"].iter().chain(args));
    let undo = || run(&["undo"]).exits(0).json();
    // The last two commands were a note, and one on two walls.
    assert_eq!([count(&undo()), count(&undo()), count(&undo())], [1, 1, 1]);
    run(&["note", "--on", "N,E", "--text", "by this program"]).exits(0);
    assert_eq!(count(&undo()), 2);
    assert_eq!(run(&["verify"]).exits(0).json()["ok"], true);
}
