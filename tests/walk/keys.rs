//! How much a lead types, counted on a real pseudo-terminal.

use super::{Terminal, answers_until};
use crate::harness::Bench;

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
    let bench = Bench::at("2026-03-02T07:00:00+13:00");
    bench.file("job.toml", JOB);
    std::fs::write(bench.path("wall.jpg"), crate::harness::pictures::photo(90, None)).unwrap();
    bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(0);
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk", "N"]);
    let released = [("Hold point on N", "1\r")];
    let answers = answers_until(&mut terminal, &released, 100, Some("Up to which course"));
    let keys = terminal.keys;
    assert!(terminal.everything().contains("Course hung on N/C1..6"), "{}", terminal.everything());
    assert!(keys < 150 && answers < 45, "{keys} keys, {answers} answers");
}
