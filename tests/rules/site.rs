//! A job on the small sequence, and the commands that the tests of the rules give on it.

use serde_json::Value;

use crate::harness::{Bench, Run, root};

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

/// A folder with the job set up and the day open.
pub struct Site {
    bench: Bench,
}

impl Site {
    /// The job set up and a day opened at `clock`, with Lea and Ivo on site.
    pub fn open(clock: &str) -> Self {
        let site = Self::closed(clock);
        site.ok(["day", "open", "--crew", "Lea", "Ivo", "--talk", "the day"]);
        site
    }

    /// The job set up, no day open.
    pub fn closed(clock: &str) -> Self {
        let bench = Bench::at(clock);
        let small = std::fs::read_to_string(root().join("tests/rules/small.toml")).unwrap();
        bench.file("small.toml", &small);
        let job = bench.file("job.toml", JOB);
        let site = Self { bench };
        site.run(["job", "add", job.to_str().unwrap()]).exits(0);
        site
    }

    /// Everything up to primed joints: frame checked on N.
    pub fn with_frame(clock: &str) -> Self {
        let site = Self::open(clock);
        site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
        site
    }

    /// Sets the clock.
    pub fn clock(&mut self, clock: &str) -> &mut Self {
        self.bench.set_clock(clock);
        self
    }

    /// A file in the job's folder.
    pub fn path(&self, name: &str) -> std::path::PathBuf {
        self.bench.path(name)
    }

    /// Runs a command on the job.
    pub fn run<const N: usize>(&self, args: [&str; N]) -> Run {
        let mut all = vec!["--db", "job.db", "--json"];
        all.extend(args);
        self.bench.run(all)
    }

    /// Runs a command in the job's folder, on no database unless it names one.
    pub fn bare<const N: usize>(&self, args: [&str; N]) -> Run {
        self.bench.run(args)
    }

    /// Runs a command for a person; gives what it prints.
    #[track_caller]
    pub fn text<const N: usize>(&self, args: [&str; N]) -> String {
        let mut all = vec!["--db", "job.db"];
        all.extend(args);
        self.bench.run(all).exits(0).stdout
    }

    /// Runs a command that must be done; gives its JSON.
    #[track_caller]
    pub fn ok<const N: usize>(&self, args: [&str; N]) -> Value {
        self.run(args).exits(0).json()
    }

    /// Runs a command that a rule must refuse; gives what it says.
    #[track_caller]
    pub fn refused<const N: usize>(&self, rule: &str, args: [&str; N]) -> Value {
        let said = self.run(args).exits(1).json()["refused"].clone();
        assert_eq!(said["rule"], rule, "{said}");
        said
    }

    /// Runs a command that must be bad input; gives the message.
    #[track_caller]
    pub fn bad<const N: usize>(&self, args: [&str; N]) -> String {
        let before = self.entries();
        let run = self.run(args).exits(2);
        assert_eq!(run.stdout, "", "bad input has no result");
        assert_eq!(self.entries(), before, "nothing is written on bad input");
        run.stderr
    }

    /// How many entries there are.
    pub fn entries(&self) -> usize {
        self.ok(["log"])["entries"].as_array().unwrap().len()
    }

    /// The ids of the open defects.
    pub fn open_defects(&self) -> Vec<String> {
        let list = self.ok(["defect", "list"]);
        let open = list["defects"].as_array().unwrap().iter().filter(|defect| defect["state"] == "open");
        open.map(|defect| defect["id"].as_str().unwrap().to_owned()).collect()
    }

    /// The state of the action of a step on a subject in `next`: ready, waiting, or gone.
    pub fn next_of(&self, step: &str, subject: &str) -> Option<Value> {
        let next = self.ok(["next"]);
        let list = next["actions"].as_array().unwrap();
        list.iter().find(|action| action["step"] == step && action["subject"] == subject).cloned()
    }

    /// The state of a window on a subject, by `watch --once`.
    pub fn window(&self, key: &str, subject: &str) -> Option<String> {
        let list = self.ok(["watch", "--once"]);
        let windows = list["windows"].as_array().unwrap();
        let found = windows.iter().find(|window| window["key"] == key && window["subject"] == subject);
        found.map(|window| window["state"].as_str().unwrap().to_owned())
    }
}
