//! What is typed on the command line and can't stand in a session of `tests/messages/typed.txt`, where the rest is.

use crate::rules::site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn a_job_is_set_up_by_somebody_of_the_job_and_not_in_the_future() {
    let site = site::closed(MONDAY);
    let add = |more: [&str; 2]| site.bare(["--db", "other.db", "--json", "job", "add", "job.toml", more[0], more[1]]);
    add(["--by", "Lia"]).exits(2);
    assert!(!site.path("other.db").exists(), "nothing is left behind");
    assert_eq!(add(["--at", "08:01"]).exits(1).json()["refused"]["rule"], "R3");
    assert!(!site.path("other.db").exists(), "nothing is left behind");
    let told = add(["--at", "07:30"]).exits(0).json();
    assert_eq!(told["entries"][0]["happened_at"], "2026-03-02T07:30:00+13:00");
    assert_eq!(told["entries"][0]["recorded_at"], MONDAY);
}

#[test]
fn control_characters_are_refused_everywhere_but_tab_and_newline_in_prose() {
    let site = site::open(MONDAY);
    for text in ["bell \u{7}", "escape \u{1b}[31m"] {
        site.bad(["note", "--text", text]);
    }
    site.bad(["defect", "open", "--on", "N", "--what", "two\nlines"]);
    site.bad(["day", "open", "--crew", "Lea\u{9b}"]);
    site.ok(["note", "--text", "first line\n\tsecond line"]);
}

#[test]
fn free_text_may_begin_with_a_hyphen_and_a_forgotten_one_takes_no_option() {
    let site = site::open(MONDAY);
    for text in ["- gap at sill", "-3 mm", "--", "-h"] {
        site.ok(["note", "--on", "job", "--text", text]);
        site.ok(["defect", "open", "--on", "N", "--what", text]);
    }
    let log = site.ok("log").to_string();
    assert!(log.contains("- gap at sill"), "{log}");
    for line in ["note --text --on N", "note --text --json", "undo --why --anyway"] {
        site.bad(line);
    }
}

#[test]
fn names_in_any_script_are_taken_and_endless_ones_are_not() {
    let site = site::open(MONDAY);
    for name in ["Łukasz Żółć", "王小明", "עידו כהן", "อนงค์", "Zoë 🧱", "Nguyễn Thị Ánh"]
    {
        site.ok(["job", "person", name, "--role", "installer"]);
        site.ok(["day", "join", "--crew", name]);
    }
    let endless = "x".repeat(10_000);
    site.bad(["job", "person", &endless, "--role", "installer"]);
    let said = site.bad(["day", "join", "--crew", &endless]);
    assert!(said.len() < 400, "what is endless is shortened where it is repeated: {said}");
}
