//! What is typed at the wrong place, or wrongly: it is said in the words of the question, and nothing comes of it.

use super::{Terminal, open_day, unbroken, with_job};
use crate::harness::site::Site;

/// A job at the step that measures how flat the frame is, with an open defect on the job.
fn at_frame_flat() -> Site {
    let site = super::tolerance::at_frame_flat();
    site.ok("defect open --on job --what 'gate left open'");
    site
}

#[test]
fn another_number_is_the_right_measurement() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    // The key of a question is of no use to whoever stands before it.
    terminal.answer("Widest gap", "all\r");
    let heard = terminal.sees("'all' is not a number");
    assert!(!heard.contains("flat:"), "{heard}");
    // Far beyond the tolerance it is probably a slip: Enter is no then.
    terminal.answer("Widest gap", "300\r");
    terminal.answer("Is 300 what you measured? (n, or the right one) [no]", "\r");
    terminal.answer("Widest gap", "4\r");
    terminal.answer("Is 4 what you measured? (n, or the right one) [yes]", "2.5\r");
    terminal.sees("In tolerance.");
    terminal.sees("Packers firm");
    assert_eq!(site.ok("defect list")["defects"].as_array().unwrap().len(), 1);
}

#[test]
fn a_sentence_that_begins_like_a_command_does_nothing() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Widest gap", "photo of the blocking, ok from Ruth\r");
    terminal.sees("'photo' takes a photo's file or a folder: there is no 'of the blocking, ok from Ruth'");
    terminal.answer("Widest gap", "Wind is up, tag late\r");
    terminal.sees("'wind' records the wind: type a force from 0 to 12");
    terminal.answer("Widest gap", "2\r");
    terminal.sees("In tolerance.");
}

#[test]
fn a_long_answer_leaves_its_question_on_the_screen_once() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Numbers", "\r");
    terminal.sees("Topic of the pre-start talk");
    terminal.question();
    // What comes before the program reads it is echoed by the terminal as well.
    terminal.hides_keys();
    terminal.reply("Ladders, dust, traffic at the gate, the crane at ten");
    terminal.shows("all that was typed", |row| row.ends_with("the crane at ten"));
    terminal.hides_keys();
    terminal.reply("\r");
    terminal.sees("A hazard today");
    terminal.shows("the end of the answer", |row| row.trim() == "at ten");
    assert_eq!(terminal.rows().iter().filter(|row| row.contains("Topic of the pre-start talk")).count(), 1);
}

#[test]
fn what_can_be_typed_fits_a_screen_with_the_question() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    let first = terminal.sees("Widest gap");
    assert!(unbroken(&first).contains("Basis: common practice"), "{first}");
    terminal.question();
    terminal.reply("?\r");
    let heard = terminal.sees("left NAME");
    assert!(unbroken(&heard).contains("back the question before"), "{heard}");
    let heard = terminal.question().unwrap();
    // What the limit rests on is read there again, and not at every repeat.
    assert!(unbroken(&heard).contains("Basis: common practice"), "{heard}");
    assert!(heard.lines().count() <= 24, "{heard}");
}

#[test]
fn nobody_is_taken_to_have_given_a_concession() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Widest gap", "4\r");
    terminal.answer("what you measured?", "\r");
    terminal.sees("The step stays open on N");
    terminal.answer("Widest gap", "defects\r");
    // The defect of what is being asked for comes first.
    terminal.answer("Defect on N", "3\r");
    terminal.answer("nobody yet", "\r");
    terminal.sees("It stays open. Ask Ruth Tarn.");
    terminal.answer("Defect on the job", "1\r");
    terminal.answer("Widest gap", "defects\r");
    terminal.answer("Defect on N", "3\r");
    terminal.answer("Who gives the concession?", "1\r");
    terminal.answer("How did they say so", "2\r");
    terminal.answer("Why may it stand", "packed out by the framer, her text of 10:02\r");
    terminal.sees("Recorded: concession by Ruth Tarn");
    let defects = site.ok("defect list");
    let conceded = defects["defects"].as_array().unwrap().iter().find(|one| one["state"] == "conceded").unwrap();
    assert_eq!(conceded["how"], "by phone: packed out by the framer, her text of 10:02", "{defects}");
}

#[test]
fn a_site_check_that_fails_is_no_matter_of_a_concession() {
    let site = Site::set_up("2026-03-02T07:30:00+13:00", super::JOB, "");
    open_day(&site, &["Ana Reid"], &["emergency", "heights", "heat-and-sun", "electricity"]);
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Tag in date", "n\r");
    terminal.answer("Is it right?", "\r");
    terminal.answer("What is wrong", "tag out of date since Friday\r");
    let heard = terminal.sees("Or type 'skip' to carry on with other work.");
    assert!(unbroken(&heard).contains("Why now: not in order: put it right and check again."), "{heard}");
    assert!(!heard.contains("concession"), "{heard}");
    let log = site.shown("log").exits(0).stdout;
    assert!(log.contains("note: tag out of date since Friday"), "{log}");
}

#[test]
fn people_come_first_in_the_morning_also_where_something_is_to_be_measured_again() {
    let site = Site::set_up("2026-03-02T07:30:00+13:00", super::JOB, "");
    open_day(&site, &["Ana Reid"], &["emergency", "heights", "heat-and-sun", "electricity", "old-work", "lifting"]);
    for line in [
        "record site-access --on job --answer safe=yes",
        "record old-work --on job --answer 'found=no old work'",
        "record papers --on job --answer held=yes",
        "record deliveries --on job --answer right=yes --answer panel-batch=B12",
        "record storey-rod --on job --answer marked=yes",
        "record frame-square --on N --answer out=9",
        "day close --hours 'Ana Reid=8'",
    ] {
        site.ok(line);
    }
    site.clock("2026-03-03T07:00:00+13:00").open_day(&["Ana Reid"]);
    let mut terminal = Terminal::on(&site, "walk");
    let heard = unbroken(&terminal.question().unwrap());
    assert!(heard.contains("Caution 1 of 4") && !heard.contains("Frame square"), "{heard}");
    // Somebody new is put on the job by coming onto site.
    terminal.reply("join\r");
    terminal.answer("Who came", "Sam Kale\r");
    terminal.answer("Sam Kale is not on this job. Add them as an installer?", "\r");
    terminal.sees("Recorded: Sam Kale came onto site, 07:00");
}
