//! What is read off the tape, and what is done in one go with the gun in hand.

use serde_json::Value;

use super::{Terminal, unbroken};
use crate::harness::site::Site;
use crate::rules::square::open;

fn walk(site: &Site) -> Terminal {
    Terminal::on(site, "walk N")
}

/// Every step done that is not struck: step, when it was begun, when it was done.
fn done(site: &Site) -> Vec<[String; 3]> {
    let _ = std::fs::remove_file(site.path("all.jsonl"));
    site.ok("export all.jsonl");
    let log = site.ok("log");
    let struck = |line: &Value| {
        let mut entries = log["entries"].as_array().unwrap().iter();
        entries.any(|entry| entry["hash"] == line["hash"] && entry["struck_by"].is_string())
    };
    let text = site.read("all.jsonl");
    let lines = text.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    let steps = lines.filter(|line| line["kind"] == "step-done" && !struck(line));
    let clock = |time: &Value| time.as_str().map_or_else(String::new, |time| time[11..16].to_owned());
    let row = |line: Value| {
        let body = &line["body"];
        [body["step"].as_str().unwrap().to_owned(), clock(&body["began"]), clock(&line["happened_at"])]
    };
    steps.map(row).collect()
}

/// The frame of N is square and its joint primed at eight; the clock stands at twenty past.
fn primed() -> Site {
    let site = open();
    for line in ["record frame-square --on N,E --answer out=1", "record prime --on N/J1"] {
        site.ok(line);
    }
    site.clock("08:20");
    site
}

#[test]
fn both_diagonals_are_typed_as_read() {
    let site = open();
    let mut terminal = walk(&site);
    terminal.answer("Type both diagonals as read, such as 6552 6566. The frame counts as 6000 mm wide", "6552 6566\r");
    terminal.answer(
        "6.93 mm in 2400 mm of height, on a frame 2650 mm high. Out by 1.93 mm; required: at most 5 mm.",
        "n\r",
    );
    terminal.answer("from both diagonals, mm", "6558 6566\r");
    let heard = terminal.sees("In tolerance.");
    assert!(heard.contains("3.95 mm"), "{heard}");
    terminal.answer("Primed on N/J1", "wall E\r");
    // Of this wall the job does not say how long it is.
    terminal.answer("both diagonals and the width of the frame as read", "6552 6553\r");
    terminal.answer("type the width of the frame after the diagonals, as in 6552 6553 6000", "6552 6553 6000\r");
    terminal.sees("Recorded: ");
    assert_eq!(done(&site).len(), 2);
}

#[test]
fn diagonals_of_a_frame_that_the_wall_does_not_have_are_asked_for_again() {
    let site = open();
    let mut terminal = walk(&site);
    // 6200 read for 6580: square all the same, on a frame √(6201² − 6000²) = 1566 mm high.
    terminal.answer("Type both diagonals as read", "6200 6202\r");
    terminal.answer("on a frame 1566 mm high. The wall is 2700 mm high", "\r");
    terminal.answer("from both diagonals, mm", "6580 6582\r");
    let heard = terminal.sees("Recorded: ");
    assert!(!heard.contains("The wall is"), "{heard}");
    assert_eq!(done(&site).len(), 1);
}

#[test]
fn gun_tool_and_tape_off_are_one_press_each_with_its_own_time() {
    let site = primed();
    let mut terminal = walk(&site);
    terminal.answer("Sealant batch", "S9\r");
    terminal.answer("1 Gunned 2 Gunned, tooled 3 Gunned, tooled, tape off", "3\r");
    // Enter is no answer: when the bead was begun has to be said.
    terminal.answer("When it was begun; then, where they were not just now, the times of: Tooled, tape off.", "\r");
    terminal.answer("type when it was begun, such as 10:40, or 6 for 6 minutes ago", "6\r");
    let heard = terminal.sees("Close the day?");
    assert!(heard.contains("Recorded: Gunned, tooled, tape off on N/J1, 08:20"), "{heard}");
    assert!(heard.contains("Window met on N/J1: Primer") && !heard.contains("skin forms"), "{heard}");
    // The label, "3", "6", and an Enter more than it takes: one by one the three steps take as many keys and say no times.
    assert_eq!(terminal.keys, "S9\r3\r\r6\r".len());
    let began = |step: &str, began: &str, at: &str| [step, began, at].map(str::to_owned);
    let sealed = |times: [[&str; 2]; 3]| -> Vec<[String; 3]> {
        ["gun", "tool", "tape-off"].into_iter().zip(times).map(|(step, [a, b])| began(step, a, b)).collect()
    };
    assert_eq!(done(&site)[3..], sealed([["08:14", "08:20"], ["", "08:20"], ["", "08:20"]]));
    // One word takes all three back.
    terminal.answer("Close the day?", "undo\r");
    terminal.answer("The last record: Gunned, tooled, tape off on N/J1, 08:20.", "\r");
    let heard = terminal.sees("Sealant batch");
    assert!(!heard.contains("Window met"), "{heard}");
    terminal.answer("Sealant batch", "S9\r");
    assert_eq!(done(&site).len(), 3);
    // Each with its time: the bead ended by when it was tooled.
    terminal.answer("Done so far", "3\r");
    terminal.answer("Begun at", "08:10 08:15 3\r");
    terminal.sees("Recorded: Gunned, tooled, tape off on N/J1, 08:15");
    assert_eq!(done(&site)[3..], sealed([["08:10", "08:15"], ["", "08:15"], ["", "08:17"]]));
    terminal.answer("Close the day?", "quit\r");
    assert_eq!(terminal.ends(), 0);
    let defects = site.ok("defect list");
    assert_eq!(defects["defects"], serde_json::json!([]));
}

#[test]
fn a_clock_that_was_missed_shows_in_one_press_too() {
    let site = primed();
    let mut terminal = walk(&site);
    terminal.answer("Sealant batch", "S9\r");
    terminal.answer("Done so far", "3\r");
    terminal.answer("Begun at", "12:00\r");
    terminal.answer("that is still to come", "08:15 08:12\r");
    terminal.answer("in the order in which it was done", "18\r");
    // Begun at 08:02, tooled 18 minutes later.
    let heard = terminal.sees("Record it anyway?");
    assert!(heard.contains("Recorded: Gunned on N/J1") && heard.contains("08:17"), "{heard}");
    // A yes or a time is no reason.
    for typed in ["y\r", "08:15\r"] {
        terminal.answer("Record it anyway?", typed);
        terminal.sees("type the reason in words; a time goes after 'at'");
    }
    terminal.answer("Record it anyway?", "the phone was in the van\r");
    terminal.sees("Defect opened on N/J1");
    terminal.sees("Recorded: Tape off on N/J1");
    let list = site.ok("defect list");
    let rules: Vec<&str> = list["defects"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert!(matches!(rules.as_slice(), [one] if one.ends_with(".r6-tool")), "{rules:?}");
}

/// Gunned from 08:15 on, and nothing else recorded; back at the laptop at twenty to nine.
fn gunned() -> Site {
    let site = primed();
    let mut terminal = walk(&site);
    terminal.answer("Sealant batch", "S9\r");
    terminal.answer("Done so far", "1\r");
    terminal.answer("Begun at", "5\r");
    terminal.sees("Recorded: Gunned on N/J1");
    assert_eq!(terminal.leave(), 0);
    site.clock("08:40");
    site
}

#[test]
fn back_at_the_laptop_the_walk_asks_when_it_was_tooled_before_anything_is_cut_out() {
    let site = gunned();
    let mut terminal = walk(&site);
    let heard = unbroken(&terminal.sees("When was it done, such as 08:30"));
    assert!(
        heard.contains("Not recorded yet. 'Gunned' was begun at 08:15, so this had to be done by 08:30."),
        "{heard}"
    );
    terminal.answer("When was it done, such as 08:30", "09:15\r");
    terminal.answer("that is still to come", "08:24\r");
    terminal.sees("Recorded: Tooled on N/J1, 08:24");
    assert_eq!(terminal.leave(), 0);
    assert_eq!(site.ok("defect list")["defects"], serde_json::json!([]));
}

#[test]
fn what_was_not_tooled_in_time_is_done_again() {
    let site = gunned();
    let mut terminal = walk(&site);
    terminal.answer("When was it done, such as 08:30", "n\r");
    // Whether the tape came off is not asked either.
    terminal.sees("lapsed: to be done again");
    assert_eq!(terminal.everything().matches("Not recorded yet.").count(), 1, "{}", terminal.everything());
    assert_eq!(terminal.leave(), 0);
}
