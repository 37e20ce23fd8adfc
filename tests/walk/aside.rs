//! What can be noted at any question of the walk beside what is asked.

use super::{Terminal, unbroken, with_job};

#[test]
fn a_stoppage_and_extra_work_are_noted_at_any_question() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "walk");
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
    let stoppages = site.ok("stoppage list");
    assert_eq!(stoppages["stoppages"].as_array().map(Vec::len), Some(1));
    assert_eq!(stoppages["stoppages"][0]["told"], serde_json::json!(["Ruth Tarn", "Kit of the roofers"]));
    assert_eq!(stoppages["stoppages"][0]["state"], "ended");
    let extras = site.ok("extra list");
    assert_eq!(extras["extras"].as_array().map(Vec::len), Some(1));
    assert_eq!(extras["extras"][0]["subject"], "N");
    assert_eq!(extras["extras"][0]["crew_hours"], 2.0);
}

#[test]
fn a_stoppage_that_only_speaks_of_rain_is_asked_whether_it_rains() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    for (cause, reply) in [("no rain gear", Some("n\r")), ("showers since seven", Some("\r")), ("scaffold tag", None)] {
        let mut terminal = Terminal::on(&site, "walk");
        terminal.answer("Numbers", &format!("stopped {cause}\r"));
        terminal.answer("Where", "\r");
        terminal.answer("Who was notified", "\r");
        if let Some(reply) = reply {
            terminal.answer("Is it raining there", reply);
        }
        terminal.answer("Numbers", "resume\r");
        terminal.sees("Numbers");
        terminal.leave();
    }
    site.ok("export record.jsonl");
    let record = site.read("record.jsonl");
    let started = record.lines().filter(|line| line.contains(r#""kind":"stoppage-started""#));
    let rain: Vec<bool> = started.map(|line| line.contains(r#""rain":true"#)).collect();
    assert_eq!(rain, [false, true, false]);
}

#[test]
fn enter_alone_confirms_nothing() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Numbers", "\r");
    terminal.answer("Topic of the pre-start talk", "\r");
    terminal.answer("A hazard today", "\r");
    // A question of quality does not take Enter for yes.
    terminal.answer("Makers' instructions and consent drawings", "\r");
    terminal.answer("please type y or n", "y\r");
    // Cautions are read out in one go, and by people who are named.
    super::to_who_has_read(&mut terminal);
    terminal.reply("\r");
    terminal.answer("type y, the numbers or names of those who have, or n", "1\r");
    terminal.sees("read by Ana Reid");
    terminal.sees("Still to be read by Tom Bell; the step can't start until then.");
    terminal.leave();
}

#[test]
fn a_reading_of_several_walls_is_one_record() {
    let site = super::by_wall::barn();
    let mut terminal = Terminal::on(&site, "walk");
    for (question, keys) in [
        ("Numbers", "reading\r"),
        ("Rain on the wall", "\r"),
        // By what is seen, once for the whole site.
        ("3 leaves and small twigs move all the time", "3\r"),
        ("Air in the shade", "18\r"),
        ("Humidity", "60\r"),
        ("Surface of N", "19\r"),
        ("Surface of E", "\r"),
    ] {
        terminal.answer(question, keys);
    }
    terminal.answer("Recorded: reading on N, E", "quit\r");
    assert_eq!(terminal.ends(), 0);
    assert_eq!(unbroken(&terminal.everything()).matches("Recorded: reading").count(), 1);
    let export = site.ok("log");
    let read: Vec<&str> = export["entries"].as_array().unwrap().iter().filter_map(|it| it["what"].as_str()).collect();
    let read: Vec<&&str> = read.iter().filter(|what| what.starts_with("reading")).collect();
    assert_eq!(
        read,
        [
            &"reading: wind 15.5 km/h (force 3)",
            &"reading on N: air 18 °C, humidity 60 %, surface 19 °C",
            &"reading on E: air 18 °C, humidity 60 %"
        ]
    );
}

#[test]
fn what_was_just_recorded_is_taken_back_by_one_word() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Numbers", "undo\r");
    terminal.sees("Nothing to undo: the last that this file recorded set the job up");
    terminal.answer("Numbers", "\r");
    terminal.answer("Topic of the pre-start talk", "\r");
    terminal.answer("A hazard today", "\r");
    terminal.answer("Makers' instructions and consent drawings", "y\r");
    terminal.answer("Enter for the next", "undo\r");
    // What goes is named before it goes.
    terminal.answer("The last record: Papers on site, 07:30. Take it back?", "no\r");
    terminal.answer("Enter for the next", "undo\r");
    terminal.answer("Take it back?", "\r");
    terminal.answer("Makers' instructions and consent drawings", "undo\r");
    // The undo is passed over: what comes next is the command before.
    terminal.answer("The last record: site day opened, 07:30", "\r");
    terminal.answer("Numbers", "quit\r");
    assert_eq!(terminal.ends(), 0);
    assert!(steps_done(&site).is_empty());
}

/// The steps that are recorded and not struck.
fn steps_done(site: &crate::harness::site::Site) -> Vec<String> {
    let log = site.ok("log");
    let entries = log["entries"].as_array().unwrap();
    let done = entries.iter().filter(|entry| entry["kind"] == "step-done" && entry["struck_by"].is_null());
    done.map(|entry| entry["id"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn back_goes_to_the_question_before_and_what_was_answered_before_that_stands() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Numbers", "back\r");
    terminal.sees("There is no question before this one.");
    terminal.answer("Numbers", "ana\r");
    terminal.answer("Topic of the pre-start talk", "frames\r");
    terminal.answer("A hazard today", "wet scaffold\r");
    terminal.answer("A hazard today", "back\r");
    terminal.answer("A hazard today", "back\r");
    terminal.answer("Topic of the pre-start talk", "lifting\r");
    terminal.answer("A hazard today", "dogs\r");
    // What is looked up on the side takes nothing away.
    terminal.answer("A hazard today", "?\r");
    terminal.answer("A hazard today", "\r");
    terminal.answer("Recorded: site day opened", "quit\r");
    assert_eq!(terminal.ends(), 0);
    site.ok("export all.jsonl");
    let text = std::fs::read_to_string(site.path("all.jsonl")).unwrap();
    let opened: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    let day = serde_json::json!({ "crew": ["Ana Reid"], "talk": "lifting", "hazards": ["dogs"] });
    for key in ["crew", "talk", "hazards"] {
        assert_eq!(opened["body"][key], day[key], "{opened}");
    }
}
