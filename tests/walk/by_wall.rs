//! The walk stays at a wall until nothing more can be done there.

use super::{Terminal, answers, unbroken};
use crate::harness::Bench;

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

pub fn bench() -> Bench {
    let bench = Bench::at(EIGHT);
    bench.file("job.toml", &crate::harness::with_earlier_panels(JOB));
    std::fs::write(bench.path("wall.jpg"), crate::harness::pictures::photo(90, None)).unwrap();
    bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(0);
    bench
}

#[test]
fn all_that_can_be_done_at_one_wall_comes_before_the_other() {
    let bench = bench();
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk"]);
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
    let next = bench.run(["--db", "site.db", "--json", "next", "--on", "E"]).exits(0).json();
    let actions = next["actions"].as_array().unwrap();
    assert!(!actions.is_empty());
    for action in actions {
        let subject = action["subject"].as_str().unwrap();
        assert!(subject.starts_with('E') || subject == "NE", "{subject}");
    }
}

#[test]
fn the_walk_begins_at_the_wall_that_was_named_and_goes_where_it_is_told() {
    let bench = bench();
    bench.run(["--db", "site.db", "day", "open", "--crew", "Ana Reid", "--talk", "frames"]).exits(0);
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk", "E"]);
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
        let mut refused = Terminal::start(&bench, &["--db", "site.db", "walk", wall]);
        assert_eq!(refused.ends(), 2);
        assert!(unbroken(&refused.everything()).contains(why), "{}", refused.everything());
    }
}
