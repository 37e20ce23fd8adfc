//! R8 in the walk: judged at once, open until it is measured again.

use super::{Terminal, open_day, unbroken, with_job};
use crate::harness::site::Site;

/// A job at the step that measures how flat the frame is.
pub fn at_frame_flat() -> Site {
    let site = with_job("2026-03-02T07:30:00+13:00");
    open_day(&site, &["Ana Reid", "Tom Bell"], &["heights", "lifting", "heat-and-sun", "electricity"]);
    for line in [
        "site-access --on job --answer safe=yes",
        "papers --on job --answer held=yes",
        "deliveries --on job --answer right=yes --answer panel-batch=B12",
        "storey-rod --on job --answer marked=yes",
        "frame-square --on N --answer out=2",
        "frame-plumb --on N --answer lean=2",
    ] {
        site.ok(format!("record {line}"));
    }
    site
}

/// The state of every defect.
fn defects(site: &Site) -> Vec<String> {
    site.defects().iter().map(|defect| defect["state"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn r8_out_of_tolerance_opens_a_defect_until_it_is_measured_again() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    // The tolerance and what it rests on stand before the question.
    terminal.answer("Required: at most 3 mm. Basis: common practice", "5.5\r");
    terminal.answer("Out by 2.5 mm; required: at most 3 mm. This opens a defect.", "\r");
    let heard = terminal.sees("The step stays open on N until it is fixed and checked again.");
    assert!(unbroken(&heard).contains("Defect opened on N: Frame flat: Widest gap under a 2 m straightedge: 5.5 mm"));
    terminal.sees("Why now: out of tolerance: put it right and measure again, or ask for a concession.");
    assert_eq!(defects(&site), ["open"]);
    terminal.answer("Widest gap under a 2 m straightedge, mm", "3\r");
    terminal.sees("In tolerance.");
    let heard = terminal.sees("Packers firm at every clip line");
    assert!(unbroken(&heard).contains("Defect closed on N: Frame flat"), "{heard}");
    assert_eq!(defects(&site), ["closed"]);
}

#[test]
fn r8_a_slip_of_the_finger_is_typed_again_and_opens_nothing() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Widest gap", "33\r");
    terminal.answer("what you measured?", "n\r");
    // Three digits after a comma could be thousands: said, and asked again.
    terminal.answer("Widest gap", "3,300\r");
    // A decimal comma and a unit are read as people read them out.
    terminal.answer("Widest gap", "2,5 mm\r");
    terminal.sees("Packers firm");
    assert!(defects(&site).is_empty());
}

#[test]
fn what_is_said_at_a_question_is_recorded_beside_it() {
    let site = at_frame_flat();
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Widest gap", "?\r");
    terminal.answer("Instead of an answer you can type", "note scaffold board loose at bay 2\r");
    terminal.sees("Recorded: note on N");
    terminal.answer("Widest gap", "defect stud 7 split\r");
    terminal.sees("Defect opened on N: stud 7 split");
    terminal.answer("Widest gap", "at 07:20\r");
    terminal.answer("This will be recorded as of 07:20", "skip\r");
    terminal.answer("Double studs at joints", "quit\r");
    terminal.sees("Saved. To continue: cladlog walk");
    assert_eq!(terminal.ends(), 0);
    assert_eq!(defects(&site), ["open"]);
    let log = site.shown("log").exits(0).stdout;
    assert!(log.contains("note on N: scaffold board loose at bay 2"), "{log}");
}
