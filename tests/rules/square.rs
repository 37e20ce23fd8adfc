//! R8: a frame is measured by both its diagonals; the sum is the program's, and the record keeps what was read.

use serde_json::{Value, json};

use crate::harness::site::Site;

/// A frame that is measured, then a joint that is primed, gunned, tooled and freed of its tape.
pub const SEQUENCE: &str = r#"
key = "tape"
title = "What a tape and a gun need"
edition = "1"
comes_first = "the maker"
roles = ["lead"]
authority = { close = ["lead"], concede = ["lead"] }
[[stage]]
key = "frame"
title = "Frame"
[[stage.step]]
key = "frame-square"
title = "Frame square"
on = "wall"
[[stage.step.ask]]
key = "out"
prompt = "Out of square per 2.4 m of height, from both diagonals"
kind = "length"
square_over = 2400
most = 5
basis = { common_practice = "5 mm in 2.4 m" }
[[stage]]
key = "sealing"
title = "Sealing"
after = ["frame"]
[[stage.step]]
key = "prime"
title = "Primed"
on = "joint"
[[stage.step]]
key = "gun"
title = "Gunned"
on = "joint"
after = ["prime"]
[[stage.step.ask]]
key = "sealant-batch"
prompt = "Sealant batch"
kind = "batch"
product = "sealant"
[[stage.step]]
key = "tool"
title = "Tooled"
on = "joint"
after = ["gun"]
[[stage.step]]
key = "tape-off"
title = "Tape off"
on = "joint"
after = ["tool"]
[[window]]
key = "primer-to-sealant"
title = "Primer to sealant"
from = "prime"
to = "gun"
latest = "6 h"
basis = { common_practice = "6 h" }
[[window]]
key = "tool"
title = "Tool before the skin forms"
from = "gun"
counts_from = "beginning"
to = "tool"
latest = "15 min"
basis = { common_practice = "15 min" }
[[window]]
key = "tape-off"
title = "Tape off before the skin forms"
from = "gun"
counts_from = "beginning"
to = "tape-off"
latest = "20 min"
basis = { common_practice = "20 min" }
"#;

/// A wall of known length and one of unknown.
pub const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "tape.toml"
[[person]]
name = "Lea"
roles = ["lead"]
[[wall]]
key = "N"
courses = 1
joints = 1
length_mm = 6000
height_mm = 2700
[[wall]]
key = "E"
courses = 1
"#;

/// A job by it on which nothing but the day is recorded, at eight.
pub fn open() -> Site {
    let site = Site::folder("2026-03-02T08:00:00+13:00", "");
    site.file("tape.toml", SEQUENCE);
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site.with_day(&["Lea"])
}

fn record(on: &str, out: &str) -> String {
    format!("record frame-square --on {on} --answer 'out={out}'")
}

fn last_answer(site: &Site) -> Value {
    let _ = std::fs::remove_file(site.path("all.jsonl"));
    site.ok("export all.jsonl");
    let text = site.read("all.jsonl");
    serde_json::from_str::<Value>(text.lines().last().unwrap()).unwrap()["body"]["answers"]["out"].clone()
}

#[test]
fn r8_both_diagonals_are_judged_in_the_height_that_the_limit_is_for_and_kept_as_read() {
    let site = open();
    // Worked by hand: (6566² − 6552²) / (4 × 6000) = 7.652 over sides of √((6552² + 6566²) / 2 − 6000²) = 2649.6 mm;
    // in 2400 mm that is 6.93.
    site.ok(record("N", "6552 6566"));
    assert_eq!(last_answer(&site), json!({ "diagonals_mm": [6552, 6566], "width_mm": 6000 }));
    let what = site.defects()[0]["what"].as_str().unwrap().to_owned();
    assert!(
        what.contains("6.93 mm (diagonals 6552 and 6566 mm, frame 6000 mm wide); required: at most 5 mm"),
        "{what}"
    );
    assert_eq!(site.open_defects(), ["N r8-out"]);
    // Of a bay 2.4 m wide, with a decimal comma, and with the height that was measured.
    site.ok(record("N", "3609,5 mm, 3613 2400x2700"));
    let kept = json!({ "diagonals_mm": [3609.5, 3613], "width_mm": 2400, "height_mm": 2700 });
    assert_eq!(last_answer(&site), kept);
    assert_eq!(site.open_defects(), [""; 0], "(3613² − 3609.5²) / 9600 × 2400 / 2700 = 2.34");
    // A frame worked out elsewhere.
    site.ok(record("N", "5.5"));
    assert_eq!(last_answer(&site), json!(5.5));
    assert_eq!(site.open_defects(), ["N r8-out"]);
    site.run("verify").exits(0);
}

#[test]
fn r8_diagonals_of_no_frame_are_sent_back() {
    let site = open();
    for (on, typed, said) in [
        ("N", "500 510", "too short for a frame 6000 wide"),
        ("N", "6700 6702 6000 2650", "can't be right"),
        ("N", "6552 about", "'about' is not a number"),
        ("N", "1 2 3 4 5", "type both diagonals of the frame, such as 6552 6566"),
        ("N", "-6552 6566", "outside"),
        ("E", "6552 6566", "type the width of the frame after the diagonals, as in 6552 6566 6000"),
    ] {
        let bad = site.bad(record(on, typed));
        assert!(bad.contains(said), "{typed}: {bad}");
    }
    site.ok(record("E", "6552 6555 6000"));
    assert_eq!(site.open_defects(), [""; 0]);
}
