//! A job with a geometry, on a sequence with nothing in the way.

use serde_json::Value;

use crate::harness::site::Site;

/// Two walls of 4.8 m and 2.4 m, 3 m high: two panels and one to a course.
pub const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "small.toml"
[panel]
length_mm = 2400
cover_mm = 600
least_column_mm = 300
least_piece_mm = 100
joint_mm = 10
clear_of_opening_mm = 100
lift_in_mm = 5
gap_mm = 10
[[person]]
name = "Lea"
roles = ["lead"]
[[person]]
name = "Bea"
roles = ["builder"]
[[wall]]
key = "N"
length_mm = 4800
height_mm = 3000
courses = 5
joints_mm = [2400]
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 600
to_mm = 1600
sill_mm = 900
head_mm = 2100
[[wall]]
key = "E"
length_mm = 2400
height_mm = 3000
courses = 5
[[wall]]
key = "S"
courses = 3
joints = 1
"#;

/// The job set up and a day opened at `clock`, with Lea on site.
pub fn open(clock: &str) -> Site {
    of(clock, JOB)
}

/// The same with another job file.
pub fn of(clock: &str, job: &str) -> Site {
    Site::set_up(clock, job, "tests/stock/small.toml").with_day(&["Lea"])
}

/// The site without its wall S, which has no measures to take off, and the heights of the courses kept.
pub fn measured(clock: &str) -> Site {
    let walls = JOB.split("[[wall]]\nkey = \"S\"").next().unwrap();
    let site = of(clock, walls);
    site.ok("calc courses --lowest 20 --highest 30 --keep");
    site
}

impl Site {
    /// Closes the day and opens another at `clock`.
    pub fn next_day(&self, clock: &str) -> &Self {
        self.ok("day close --hours Lea=8");
        self.clock(clock);
        self.open_day(&["Lea"]);
        self
    }

    /// The line of a product in `stock`.
    #[track_caller]
    pub fn line(&self, product: &str) -> Value {
        let stock = self.ok("stock");
        let lines = stock["stock"].as_array().unwrap();
        lines.iter().find(|line| line["product"] == product).unwrap().clone()
    }

    /// Delivered, used, left and needed of a product.
    #[track_caller]
    pub fn count(&self, product: &str) -> [f64; 4] {
        let line = self.line(product);
        ["delivered", "used", "left", "needed"].map(|key| line[key].as_f64().unwrap())
    }

    /// The kinds of the flags.
    pub fn flags(&self) -> Vec<String> {
        kinds_of(&self.ok("stock")["flags"])
    }
}

/// The kinds of flags or warnings; what they say stands in `tests/messages/batches.txt`.
pub fn kinds_of(list: &Value) -> Vec<String> {
    let empty = Vec::new();
    let list = list.as_array().unwrap_or(&empty);
    list.iter().map(|one| one["sort"].as_str().unwrap().to_owned()).collect()
}
