//! What can be noted at any question of the walk beside what is asked.

use super::{Terminal, unbroken, with_job};

#[test]
fn a_stoppage_and_extra_work_are_noted_at_any_question() {
    let bench = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk"]);
    terminal.answer("Numbers", "stopped\r");
    terminal.answer("What stopped it", "rain\r");
    terminal.answer("Where", "\r");
    terminal.answer("Who was notified", "Ruth Tarn, Kit of the roofers\r");
    terminal.answer("Numbers", "extra\r");
    terminal.answer("What was asked for", "porch soffit\r");
    terminal.answer("Where", "N\r");
    terminal.answer("Who asked for it", "Ruth Tarn\r");
    terminal.answer("Crew-hours", "two\r");
    terminal.answer("Crew-hours", "2\r");
    terminal.answer("Numbers", "resume\r");
    terminal.answer("Numbers", "resume\r");
    terminal.answer("Numbers", "extra\r");
    terminal.answer("What was asked for", "\r");
    terminal.sees("Numbers");
    terminal.leave();
    let shown = unbroken(&terminal.everything());
    assert!(shown.contains("No work is stopped."), "{shown}");
    let stoppages = bench.run(["--db", "site.db", "--json", "stoppage", "list"]).exits(0).json();
    assert_eq!(stoppages["stoppages"].as_array().map(Vec::len), Some(1));
    assert_eq!(stoppages["stoppages"][0]["told"], serde_json::json!(["Ruth Tarn", "Kit of the roofers"]));
    assert_eq!(stoppages["stoppages"][0]["state"], "ended");
    let extras = bench.run(["--db", "site.db", "--json", "extra", "list"]).exits(0).json();
    assert_eq!(extras["extras"].as_array().map(Vec::len), Some(1));
    assert_eq!(extras["extras"][0]["subject"], "N");
    assert_eq!(extras["extras"][0]["crew_hours"], 2.0);
}

#[test]
fn enter_alone_confirms_nothing() {
    let bench = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk"]);
    terminal.answer("Numbers", "\r");
    terminal.answer("pre-start talk", "\r");
    terminal.answer("A hazard today", "\r");
    // A quality question, then a caution: neither takes Enter for yes.
    terminal.answer("Makers' instructions and consent drawings", "\r");
    terminal.sees("please type y or n");
    terminal.answer("Makers' instructions and consent drawings", "y\r");
    terminal.answer("Read and understood by Ana Reid, Tom Bell? (y/n)", "\r");
    terminal.sees("please type y or n");
    terminal.answer("Read and understood by Ana Reid, Tom Bell? (y/n)", "y\r");
    terminal.sees("Recorded: 'Work at height' read by Ana Reid, Tom Bell");
    terminal.leave();
}
