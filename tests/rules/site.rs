//! The job of the tests of the rules, on the small sequence.

use crate::harness::site::Site;

/// The job file of the tests.
pub const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "small.toml"
[[person]]
name = "Lea"
roles = ["lead"]
[[person]]
name = "Ivo"
roles = ["installer"]
[[person]]
name = "Bea"
roles = ["builder"]
[[person]]
name = "Ines"
roles = ["inspector"]
[[person]]
name = "Dag"
roles = ["designer"]
[[wall]]
key = "N"
courses = 7
joints = 4
[[wall]]
key = "E"
courses = 2
joints = 1
"#;

/// The job of what is held to the second replay: two walls that meet in a corner, a window in one of them.
pub const FULL: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "full.toml"
person = [
    { name = "Lea", roles = ["lead"] },
    { name = "Ivo", roles = ["lead", "installer"] },
    { name = "Bea", roles = ["builder"] },
    { name = "Ines", roles = ["inspector"] },
    { name = "Dag", roles = ["designer"] },
]
corner = [{ key = "NE", kind = "preformed", walls = ["N", "E"] }]
[[wall]]
key = "N"
courses = 9
joints = 4
[[wall.opening]]
key = "O1"
kind = "window"
[[wall]]
key = "E"
courses = 4
joints = 2
"#;

/// The job set up, no day open.
pub fn closed(clock: &str) -> Site {
    Site::set_up(clock, JOB, "tests/rules/small.toml")
}

/// The same with a day open, Lea and Ivo on site.
pub fn open(clock: &str) -> Site {
    closed(clock).with_day(&["Lea", "Ivo"])
}

/// The same with the frame of N checked.
pub fn with_frame(clock: &str) -> Site {
    let site = open(clock);
    site.ok("record frame --on N --answer flat=2");
    site
}
