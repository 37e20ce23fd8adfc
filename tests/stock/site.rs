//! A job with a geometry, on a sequence with nothing in the way, and the commands that the tests give on it.

use serde_json::Value;

use crate::harness::{Bench, Run, root};

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

/// A folder with the job set up and the day open.
pub struct Site {
    pub bench: Bench,
}

impl Site {
    /// The job set up and a day opened at `clock`, with Lea on site.
    pub fn open(clock: &str) -> Self {
        Self::of(clock, JOB)
    }

    /// The same with another job file.
    pub fn of(clock: &str, job: &str) -> Self {
        let bench = Bench::at(clock);
        let small = std::fs::read_to_string(root().join("tests/stock/small.toml")).unwrap();
        bench.file("small.toml", &small);
        bench.file("job.toml", job);
        let site = Self { bench };
        site.ok("job add job.toml");
        site.ok("day open --crew Lea");
        site
    }

    /// Sets the clock.
    pub fn clock(&mut self, clock: &str) -> &mut Self {
        self.bench.set_clock(clock);
        self
    }

    /// Closes the day and opens another at `clock`.
    pub fn next_day(&mut self, clock: &str) -> &mut Self {
        self.ok("day close --hours Lea=8");
        self.clock(clock);
        self.ok("day open --crew Lea");
        self
    }

    /// Runs a command, written as in a shell, with JSON.
    pub fn run(&self, words: &str) -> Run {
        let mut all = vec!["--db".to_owned(), "job.db".to_owned(), "--json".to_owned()];
        all.extend(shlex::split(words).unwrap());
        self.bench.run(all)
    }

    /// Runs a command that must be done; gives its JSON.
    #[track_caller]
    pub fn ok(&self, words: &str) -> Value {
        self.run(words).exits(0).json()
    }

    /// Runs a command for a person; gives what it prints.
    #[track_caller]
    pub fn text(&self, words: &str) -> String {
        let mut all = vec!["--db".to_owned(), "job.db".to_owned()];
        all.extend(shlex::split(words).unwrap());
        let text = self.bench.run(all).exits(0).stdout;
        assert!(text.lines().all(|line| line.chars().count() <= 80), "wider than a screen:\n{text}");
        text
    }

    /// Runs a command that must be bad input, with nothing written; gives the message.
    #[track_caller]
    pub fn bad(&self, words: &str) -> String {
        let before = self.ok("log");
        let run = self.run(words).exits(2);
        assert_eq!(run.stdout, "", "bad input has no result");
        assert_eq!(self.ok("log"), before, "nothing is written on bad input");
        run.stderr
    }

    /// Runs a command that a rule must refuse; gives what it says.
    #[track_caller]
    pub fn refused(&self, rule: &str, words: &str) -> Value {
        let before = self.ok("log");
        let said = self.run(words).exits(1).json()["refused"].clone();
        assert_eq!(said["rule"], rule, "{said}");
        assert_eq!(self.ok("log"), before, "nothing is written on a refusal");
        said
    }

    /// The id of the first entry that a command records.
    #[track_caller]
    pub fn entry(&self, words: &str) -> String {
        self.ok(words)["entries"][0]["id"].as_str().unwrap().to_owned()
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

    /// The flags as `sort: words`.
    pub fn flags(&self) -> Vec<String> {
        words_of(&self.ok("stock")["flags"])
    }
}

/// Flags or warnings as `sort: words`.
pub fn words_of(list: &Value) -> Vec<String> {
    let empty = Vec::new();
    let list = list.as_array().unwrap_or(&empty);
    list.iter().map(|one| format!("{}: {}", one["sort"].as_str().unwrap(), one["says"].as_str().unwrap())).collect()
}
