//! What is done again, and from where on; what is asked once more, and what is not asked at all.

use super::{Terminal, unbroken};
use crate::rules::again::{open, open_with};

#[test]
fn what_is_not_there_is_not_asked_about_and_what_nobody_measures_is_asked_once_more() {
    let site = open();
    let mut terminal = Terminal::on(&site, "walk N");
    terminal.answer("Roofs and decks against this wall", "1\r");
    let heard = terminal.sees("Wettest reading");
    assert!(!heard.contains("Stop ends"), "{heard}");
    terminal.answer("Wettest reading", "3\r");
    terminal.sees("In tolerance, but less than 6 % is hardly ever measured.");
    terminal.answer("Is 3 what you measured? (n, or the right one) [no]", "13\r");
    terminal.sees("Recorded: Moisture measured on N");
    terminal.answer("Done?", "quit\r");
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
}

#[test]
fn sealant_that_has_to_come_out_is_masked_again_before_it_is_primed() {
    let site = open();
    for line in ["roofs --on N --answer shed=none", "moisture --on N --answer wettest=12"] {
        site.ok(format!("record {line}"));
    }
    for step in ["mask", "prime", "gun"] {
        site.ok(format!("record {step} --on N/J1"));
    }
    let mut terminal = Terminal::on(site.clock("08:21"), "walk N");
    // It may have been done in time: that is asked first.
    terminal.answer("When was it done", "n\r");
    let heard = unbroken(&terminal.sees("Done?"));
    let why = "Masked on N/J1 Why now: 'Tape off before the skin forms' lapsed: to be done again. \
               To do: Cut the sealant out.";
    assert!(heard.contains(why), "{heard}");
    terminal.answer("Done?", "y\r");
    terminal.answer("Primed on N/J1", "quit\r");
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
}

#[test]
fn a_window_that_runs_is_named_where_what_answers_it_was_skipped() {
    let site = open();
    for line in ["roofs --on N --answer shed=none", "moisture --on N --answer wettest=12"] {
        site.ok(format!("record {line}"));
    }
    for step in ["mask", "prime"] {
        site.ok(format!("record {step} --on N/J1"));
    }
    let mut terminal = Terminal::on(&site, "walk N");
    terminal.answer("Done so far", "skip\r");
    let heard = unbroken(&terminal.sees("go back to what was skipped"));
    assert!(heard.contains("N: Gunned on N/J1: 'Primer to sealant' closes at 14:00, in 6 h."), "{heard}");
}

#[test]
fn go_leads_to_the_wall_on_which_a_window_runs() {
    let wall = |key: &str| format!("{{ key = \"{key}\", courses = 1, joints = 1 }}");
    let site = open_with(&[wall("N"), wall("E")].join(", "));
    for line in [
        "roofs --on N,E --answer shed=none",
        "moisture --on N,E --answer wettest=12",
        "mask --on N/J1",
        "prime --on N/J1",
    ] {
        site.ok(format!("record {line}"));
    }
    let mut terminal = Terminal::on(&site, "walk E");
    terminal.sees("Masked on E/J1");
    terminal.answer("Done?", "go\r");
    terminal.sees("Gunned on N/J1");
    terminal.answer("Done so far", "go\r");
    terminal.sees("No window is closing on another wall.");
}
