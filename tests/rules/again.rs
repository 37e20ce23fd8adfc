//! R4, R6 and R8: work that comes out begins again at an earlier step; a question that an answer before it makes needless.

use serde_json::json;

use crate::harness::site::Site;

/// A wall that is looked over and measured, then a joint that is masked, primed, gunned and freed of its tape.
const SEQUENCE: &str = r#"
key = "again"
title = "What is done again"
edition = "1"
comes_first = "the maker"
roles = ["lead"]
authority = { close = ["lead"], concede = ["lead"] }
[[stage]]
key = "frame"
title = "Frame"
[[stage.step]]
key = "roofs"
title = "Roofs looked over"
on = "wall"
[[stage.step.ask]]
key = "shed"
prompt = "Roofs and decks against this wall"
kind = "choice"
choices = ["none", "aprons as drawn", "not as drawn"]
accept = ["none", "aprons as drawn"]
[[stage.step.ask]]
key = "stop-ends"
prompt = "Stop ends in place?"
kind = "yes-no"
unless = { ask = "shed", is = "none" }
[[stage.step]]
key = "moisture"
title = "Moisture measured"
on = "wall"
[[stage.step.ask]]
key = "wettest"
prompt = "Wettest reading"
kind = "percent"
most = 19
doubt_below = 6
basis = { common_practice = "19 %" }
[[stage]]
key = "sealing"
title = "Sealing"
after = ["frame"]
[[stage.step]]
key = "mask"
title = "Masked"
on = "joint"
[[stage.step]]
key = "prime"
title = "Primed"
on = "joint"
after = ["mask"]
[[stage.step]]
key = "gun"
title = "Gunned"
on = "joint"
after = ["prime"]
[[stage.step]]
key = "tape-off"
title = "Tape off"
on = "joint"
after = ["gun"]
[[window]]
key = "primer"
title = "Primer to sealant"
from = "prime"
to = "gun"
latest = "6 h"
basis = { common_practice = "6 h" }
[[window]]
key = "tape"
title = "Tape off before the skin forms"
from = "gun"
to = "tape-off"
latest = "20 min"
redo = "Cut the sealant out."
redo_from = "mask"
basis = { common_practice = "20 min" }
"#;

const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "again.toml"
person = [{ name = "Lea", roles = ["lead"] }]
"#;

/// A job by it on which nothing but the day is recorded, at eight.
pub fn open() -> Site {
    open_with("{ key = \"N\", courses = 1, joints = 1 }")
}

/// The same with these walls.
pub fn open_with(walls: &str) -> Site {
    let site = Site::folder("2026-03-02T08:00:00+13:00", "");
    site.file("again.toml", SEQUENCE);
    site.file("job.toml", &format!("{JOB}wall = [{walls}]\n"));
    site.ok("job add job.toml");
    site.with_day(&["Lea"])
}

fn steps_to_do(site: &Site) -> Vec<String> {
    let next = site.ok("next");
    let ready = next["actions"].as_array().unwrap().iter().filter(|action| action["state"] == "ready");
    ready.map(|action| action["step"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn r8_a_question_is_not_asked_where_the_answer_before_it_leaves_nothing_to_ask() {
    let site = open();
    site.bad("record roofs --on N --answer 'shed=aprons as drawn'");
    site.ok("record roofs --on N --answer shed=none");
    assert_eq!(site.open_defects(), [""; 0]);
    // What is answered all the same is judged.
    site.ok("record roofs --on N --answer shed=none --answer stop-ends=no");
    assert_eq!(site.open_defects(), ["N r8-stop-ends"]);
    site.ok("record roofs --on N --answer shed=none --answer stop-ends=yes");
    assert_eq!(site.open_defects(), [""; 0]);
}

#[test]
fn r6_work_that_comes_out_begins_again_at_the_step_that_the_window_names() {
    let site = open();
    for line in ["roofs --on N --answer shed=none", "moisture --on N --answer wettest=12"] {
        site.ok(format!("record {line}"));
    }
    for step in ["mask", "prime", "gun"] {
        site.ok(format!("record {step} --on N/J1"));
    }
    assert_eq!(steps_to_do(&site), ["tape-off"]);
    let late = site.clock("08:21").refused("R6", "record tape-off --on N/J1");
    assert_eq!(late["closed_at"], json!("2026-03-02T08:20:00+13:00"));
    assert!(late["clears"].as_str().unwrap().contains("cladlog record mask --on N/J1"), "{late}");
    assert_eq!(steps_to_do(&site), ["mask"]);
    site.refused("R4", "record prime --on N/J1");
    site.ok("record mask --on N/J1");
    assert_eq!(steps_to_do(&site), ["prime"]);
    for step in ["prime", "gun", "tape-off"] {
        site.ok(format!("record {step} --on N/J1"));
    }
    assert_eq!(steps_to_do(&site), [""; 0]);
    assert_eq!(site.open_defects(), [""; 0]);
}
