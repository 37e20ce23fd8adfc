//! How much a lead types, counted on a real pseudo-terminal.

use super::{Terminal, answers_until, with_photo};
use crate::harness::site::Site;

/// Three walls; invented people.
const JOB: &str = r#"
key = "shed"
name = "Shed at 3 Tide Lane"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [
    { name = "Ana Reid", roles = ["lead"] },
    { name = "Tom Bell", roles = ["installer"] },
    { name = "Ruth Tarn", roles = ["builder"] },
]
wall = [
    { key = "N", name = "North", courses = 6, joints = 1 },
    { key = "E", name = "East", courses = 6 },
    { key = "S", name = "South", courses = 6, joints = 1 },
]
"#;

#[test]
fn from_the_day_open_to_the_first_course_takes_few_keys() {
    let site = with_photo(Site::set_up("2026-03-02T07:00:00+13:00", JOB, ""));
    let mut terminal = Terminal::on(&site, "walk N");
    let first = [
        ("Hold point on N", "1\r"),
        ("2 each flashed and taped", "1\r"),
        ("2 aprons, stop ends and saddles", "1\r"),
        ("What is below the panel edge", "1\r"),
        ("Least clearance from panel edge", "180\r"),
    ];
    let answers = answers_until(&mut terminal, &first, 100, Some("Course hung on N"));
    let keys = terminal.keys;
    let shown = super::unbroken(&terminal.everything());
    assert!(shown.contains("Not among the job's papers: Panel maker's installation instructions"), "{shown}");
    assert!(answers < 100, "{}", terminal.everything());
    // Measured with two on site: 104 keys, 44 answers.
    assert!(keys < 150 && answers < 45, "{keys} keys, {answers} answers");
}
