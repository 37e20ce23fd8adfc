//! The walk stays at a wall until nothing more can be done there.

use super::{Terminal, answers, answers_until, unbroken, with_photo};
use crate::harness::site::Site;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// Two walls and the corner between them; invented people.
const JOB: &str = r#"
key = "barn"
name = "Barn at Low Field"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [
    { name = "Ana Reid", roles = ["lead"] },
    { name = "Ruth Tarn", roles = ["builder"] },
]
wall = [
    { key = "N", name = "North", courses = 2, joints = 1 },
    { key = "E", name = "East", courses = 2, joints = 1 },
]
corner = [{ key = "NE", walls = ["N", "E"], kind = "metal" }]
"#;

pub fn barn() -> Site {
    with_photo(Site::set_up(EIGHT, &crate::harness::with_earlier_panels(JOB), ""))
}

#[test]
fn all_that_can_be_done_at_one_wall_comes_before_the_other() {
    let site = barn();
    let mut terminal = Terminal::on(&site, "walk");
    let list = [
        ("Which wall first", "\r"),
        // At N everything is done until its hold point: then E, which comes to the same.
        ("Hold point on N", "\r"),
        ("Hold point on E", "\r"),
        ("Nothing more can be done at N right now", "1\r"),
    ];
    assert!(answers(&mut terminal, &list, usize::MAX), "{}", terminal.everything());
    let shown = unbroken(&terminal.everything());
    assert!(shown.contains("1 N: ") && shown.contains("2 E: "), "{shown}");
    assert!(shown.contains("1 go to E: "), "{shown}");
    let left = shown.find("Nothing more can be done at N right now").unwrap();
    assert!(shown.find(" on E ").unwrap() > left, "E comes before N is left: {shown}");
    let next = site.ok("next --on E");
    let actions = next["actions"].as_array().unwrap();
    assert!(!actions.is_empty());
    for action in actions {
        let subject = action["subject"].as_str().unwrap();
        assert!(subject.starts_with('E') || subject == "NE", "{subject}");
    }
}

#[test]
fn the_walk_begins_at_the_wall_that_was_named_and_goes_where_it_is_told() {
    let site = barn();
    site.ok("day open --crew 'Ana Reid' --talk frames");
    let mut terminal = Terminal::on(&site, "walk E");
    let list = [
        ("Frame square on E", "wall N\r"),
        ("Frame square on N", "wall X\r"),
        ("type one of", "quit\r"),
        ("there is no 'X'", "quit\r"),
    ];
    assert!(answers(&mut terminal, &list, usize::MAX), "{}", terminal.everything());
    let shown = unbroken(&terminal.everything());
    assert!(!shown.contains("Which wall first"), "{shown}");
    let (east, north) = (shown.find("Frame square on E").unwrap(), shown.find("Frame square on N").unwrap());
    assert!(east < north, "{shown}");
    for (wall, why) in [("N/C1", "'N/C1' is not a wall: type one of N, E"), ("Q", "there is no 'Q' on job barn")] {
        let mut refused = Terminal::on(&site, ["walk", wall]);
        assert_eq!(refused.ends(), 2);
        assert!(unbroken(&refused.everything()).contains(why), "{}", refused.everything());
    }
}

#[test]
fn what_really_holds_the_walls_up_is_said_with_who_has_to_act() {
    let site = barn();
    let mut terminal = Terminal::on(&site, "walk");
    let list = [
        ("Which wall first", "\r"),
        ("Hold point on N", "\r"),
        ("Hold point on E", "\r"),
        ("Nothing more can be done at N right now", "1\r"),
    ];
    answers_until(&mut terminal, &list, 200, Some("Nothing more can be done right now"));
    let asked = unbroken(&terminal.heard());
    // Not what waits a week further on, but what both walls wait for, and whose turn it is.
    let held = "N, E: Frame, wrap, flashings and cavity before cover-up: release requested 08:00, not given yet. \
                To do: call Ruth Tarn";
    assert!(asked.contains(held), "{asked}");
    let way =
        asked.find(" record the release of Frame, wrap, flashings and cavity before cover-up on N").expect("a way");
    let number = asked[..way].rsplit(' ').next().unwrap();
    terminal.reply(&format!("{number}\r"));
    terminal.answer("Hold point on N", "refused\r");
    terminal.answer("Why was it refused", "sill flashing short\r");
    answers_until(&mut terminal, &[], 20, Some("Nothing more can be done right now"));
    let asked = unbroken(&terminal.heard());
    let held = "N: Frame, wrap, flashings and cavity before cover-up: refused by Ruth Tarn at 08:00: sill flashing short. \
                To do: put it right, then call Ruth Tarn";
    assert!(asked.contains(held), "{asked}");
    // Put right, it is asked for again at once.
    terminal.reply("defects\r");
    terminal.answer("Defect on N", "2\r");
    terminal.answer("Who says that it is fixed?", "1\r");
    terminal.answer("How was it fixed", "new flashing\r");
    terminal.answer("Hold point on N", "1\r");
    terminal.answer("What was put right", "new flashing, seen\r");
    terminal.sees("Released: hold point cover-up on N");
    // Whoever walks up releases it at any question, also at another wall.
    terminal.question();
    terminal.reply("release\r");
    terminal.answer("Hold point on E", "1\r");
    terminal.answer("Evidence", "\r");
    terminal.sees("Released: hold point cover-up on E");
    let mut small = Terminal::on(&site, "walk e");
    small.sees("on E");
}
