//! A whole small job, from an empty database to everything done.

use super::{Terminal, state, steps_done, unbroken, walk, with_job};
use crate::harness::Bench;

/// Most keys that a usual day may cost.
const MOST_KEYS: usize = 200;

const MORNING: &str = "2026-03-02T07:30:00+13:00";
const FORENOON: &str = "2026-03-02T10:00:00+13:00";
const AFTERNOON: &str = "2026-03-02T12:30:00+13:00";

/// Walks the day: frame to cover-up, courses to primer, sealant to the end.
fn walked_day() -> (Bench, usize, String) {
    let bench = with_job(MORNING);
    let mut keys = 0;
    let mut shown = String::new();
    for (clock, holds) in [
        (MORNING, [("Hold point on N", "\r"), ("", "")]),
        (FORENOON, [("Hold point on N", "1\r"), ("", "")]),
        (AFTERNOON, [("Hold point on the job", "1\r"), ("", "")]),
    ] {
        bench.set_clock(clock);
        let terminal = walk(&bench, &holds[..1]);
        keys += terminal.keys;
        shown.push_str(&unbroken(&terminal.everything()));
    }
    (bench, keys, shown)
}

/// The same day as a script would record it.
fn recorded_day(bench: &mut Bench) {
    bench.set_clock(MORNING);
    bench.run(["--db", "script.db", "job", "add", "job.toml"]).exits(0);
    let run = |bench: &Bench, line: &[&str]| {
        let mut args = vec!["--db", "script.db"];
        args.extend_from_slice(line);
        bench.run(args).exits(0);
    };
    let step = |bench: &Bench, step: &str, on: &str, answers: &[&str]| {
        let mut line = vec!["record", step, "--on", on];
        for answer in answers {
            line.extend(["--answer", answer]);
        }
        run(bench, &line);
    };
    run(bench, &["day", "open", "--crew", "Ana Reid", "Tom Bell", "--talk", "the day's work"]);
    for caution in
        ["silica-dust", "blades", "nail-guns", "heights", "lifting", "solvents", "heat-and-sun", "electricity"]
    {
        run(bench, &["caution", "acknowledge", caution, "--person", "Ana Reid", "Tom Bell"]);
    }
    step(bench, "site-access", "job", &["safe=yes"]);
    step(bench, "papers", "job", &["held=yes"]);
    step(bench, "deliveries", "job", &["right=yes", "panel-batch=B12"]);
    step(bench, "storey-rod", "job", &["marked=yes"]);
    step(bench, "frame-square", "N", &["out=2"]);
    step(bench, "frame-plumb", "N", &["lean=3"]);
    step(bench, "frame-flat", "N", &["flat=2"]);
    step(bench, "frame-packing", "N", &["firm=yes"]);
    step(bench, "frame-fixing-faces", "N", &["solid=yes"]);
    step(bench, "frame-moisture", "N", &["moisture=14"]);
    step(bench, "insulation", "N", &["state=in and dry"]);
    step(bench, "wrap", "N", &["sound=yes"]);
    step(bench, "flashings", "N", &["shed=yes"]);
    step(bench, "cavity", "N", &["clear=yes", "photo=wall.jpg"]);
    run(bench, &["hold", "ask", "cover-up", "--on", "N"]);
    bench.set_clock(FORENOON);
    run(bench, &["hold", "release", "cover-up", "--on", "N", "--person", "Ruth Tarn", "--how", "on site"]);
    let reading = ["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "19", "--wind", "9"];
    run(bench, &reading);
    step(bench, "starter", "N", &["level=1", "ground=160"]);
    step(bench, "joint-backers", "N/J1..6", &["centred=yes"]);
    step(bench, "courses", "N/C1..12", &["hung=yes"]);
    let levels = ["level@N/C1=1", "level@N/C3=2", "level@N/C6=0", "level@N/C9=2", "level@N/C12=3"];
    step(bench, "course-level", "N/C1,N/C3,N/C6,N/C9,N/C12", &levels);
    step(bench, "top-course", "N", &["done=yes"]);
    step(bench, "mask", "N/J1..6", &["width=10"]);
    step(bench, "prime", "N/J1..6", &["primer-batch=P7"]);
    bench.set_clock(AFTERNOON);
    run(bench, &reading);
    step(bench, "gun", "N/J1..6", &["sealant-batch=S9"]);
    step(bench, "tool", "N/J1..6", &[]);
    step(bench, "tape-off", "N/J1..6", &[]);
    step(bench, "clean-and-touch-up", "N", &["clean=yes"]);
    step(bench, "final-check", "N", &["right=yes"]);
    run(bench, &["hold", "release", "handover", "--on", "job", "--person", "Ruth Tarn", "--how", "on site"]);
    step(bench, "hand-over", "job", &["given=yes"]);
    run(bench, &["day", "close", "--hours", "Ana Reid=8", "Tom Bell=8"]);
}

#[test]
fn a_small_job_is_walked_to_its_end_and_a_script_leaves_the_same_state() {
    let (mut bench, keys, shown) = walked_day();
    assert!(keys <= MOST_KEYS, "{keys} keys");
    assert!(shown.contains("Every step is done"), "{shown}");
    assert!(shown.contains("To make the handover pack: cladlog pack FOLDER"), "{shown}");
    recorded_day(&mut bench);
    let walked = state(&bench, "site.db");
    assert_eq!(walked, state(&bench, "script.db"));
    assert_eq!(walked[0]["actions"].as_array().map(Vec::len), Some(0), "{walked:?}");
    assert_eq!(steps_done(&bench, "site.db"), steps_done(&bench, "script.db"));
    bench.run(["--db", "site.db", "verify"]).exits(0);
    for (database, pack) in [("site.db", "walked"), ("script.db", "scripted")] {
        let told = bench.run(["--db", database, "--json", "pack", pack]).exits(0).json();
        assert_eq!(told["complete"], true);
        bench.run(["verify", pack]).exits(0);
    }
}

#[test]
fn courses_and_joints_are_done_in_one_go_each_measured_alone() {
    let (_bench, _, shown) = walked_day();
    for text in [
        "Course hung on N/C1..12",
        // Enter would take them up to the first that is checked for level.
        "Up to which course [1] >",
        "Course level on N/C1, N/C3, N/C6, N/C9, N/C12",
        "Required: at most 3 mm. Basis: common practice: 3 mm off the rod anywhere along the wall",
        "Joint primed on N/J1..6",
        "Window started on N/J1..6: Primer to sealant: opens 10:30, closes 16:00",
        "Joint gunned on N/J1..6: not before 10:30, in 30 min",
        "Why now: Primer to sealant closes at 16:00, in 3 h 30 min",
        "Window met on N/J1..6: Primer to sealant",
        "Released: hold point cover-up on N",
        "Text to send: Shed at 3 Tide Lane: ready for inspection: Frame, wrap, flashings and cavity before cover-up on N.",
    ] {
        assert!(shown.contains(text), "{text} is missing in {shown}");
    }
}

#[test]
fn a_job_of_one_wall_set_up_by_questions_has_its_day_before_it() {
    let bench = Bench::at(MORNING);
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "job", "add"]);
    for (question, keys) in [
        ("Name of the job", "Shed at 3 Tide Lane\r"),
        ("Short key", "shed\r"),
        ("Address", "\r"),
        ("Builder", "\r"),
        ("Time zone", "\r"),
        ("Latitude", "\r"),
        ("Which sequence", "\r"),
        ("Crew lead", "Ana Reid\r"),
        ("Person 2", "Tom Bell\r"),
        ("Person 3", "Ruth Tarn b\r"),
        ("Person 4", "\r"),
        ("Length of a panel", "\r"),
        ("Cover", "600\r"),
        ("Does the maker say so", "\r"),
        ("Sold in lengths of", "\r"),
        ("Studs", "\r"),
        ("What each edge", "\r"),
        ("Wall 1", "N\r"),
        ("N: length", "7200\r"),
        ("N: height", "2400\r"),
        ("N: faces", "\r"),
        ("N: opening 1", "\r"),
        ("N: movement joints", "\r"),
        ("Wall 2", "\r"),
        ("Papers", "\r"),
        ("Set it up like this", "y\r"),
    ] {
        terminal.answer(question, keys);
    }
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    bench.run(["--db", "site.db", "day", "open", "--crew", "Ana Reid", "--talk", "t"]).exits(0);
    let next = bench.run(["--db", "site.db", "--json", "next"]).exits(0).json();
    let of_n = next["actions"].as_array().unwrap().iter().any(|action| action["subject"] == "N");
    assert!(!next["actions"].as_array().unwrap().is_empty() && of_n, "{next}");
}
