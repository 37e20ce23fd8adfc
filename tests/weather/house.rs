//! A house whose joints are ready to be sealed.

use serde_json::Value;

use crate::harness::{Bench, Run, root};

/// The house: a south wall in the shade all day (Wellington in March), an east wall in the morning sun.
pub const JOB: &str = r#"
key = "house"
name = "Shady house"
time_zone = "Pacific/Auckland"
latitude_deg = -41.29
longitude_deg = 174.78
sequence = "seal.toml"
[panel]
length_mm = 2400
cover_mm = 600
least_column_mm = 300
least_piece_mm = 100
joint_mm = 10
clear_of_opening_mm = 100
lift_in_mm = 5
mass_kg = 21
[[person]]
name = "Lea Moss"
roles = ["lead"]
[[person]]
name = "Ivo Reed"
roles = ["installer"]
[[wall]]
key = "S"
bearing_deg = 180
height_mm = 3000
length_mm = 6000
courses = 2
joints_mm = [1000, 2000, 3000]
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 2500
to_mm = 3500
sill_mm = 1000
head_mm = 2000
[[wall]]
key = "E"
bearing_deg = 90
height_mm = 3000
length_mm = 4000
courses = 2
joints_mm = [1500, 3000]
"#;

/// The house in a folder of its own.
pub struct House {
    bench: Bench,
}

impl House {
    /// Set up and its day opened at `clock`, with both people on site; the frame is checked.
    pub fn open(clock: &str) -> Self {
        Self::of(JOB, clock)
    }

    /// As [`House::open`], with another job file.
    pub fn of(job: &str, clock: &str) -> Self {
        let house = Self::shut(job, clock);
        house.ok(&["day", "open", "--crew", "Lea Moss", "Ivo Reed"]);
        house.ok(&["record", "frame", "--on", "S,E"]);
        house
    }

    /// Set up, no day open.
    pub fn shut(job: &str, clock: &str) -> Self {
        let bench = Bench::at(clock);
        bench.file("seal.toml", &std::fs::read_to_string(root().join("tests/weather/seal.toml")).unwrap());
        let job = bench.file("job.toml", job);
        let house = Self { bench };
        house.run(&["job", "add", job.to_str().unwrap()]).exits(0);
        house
    }

    /// Sets the clock: a time on 2 March 2026.
    pub fn clock(&mut self, time: &str) -> &mut Self {
        self.bench.set_clock(&at(time));
        self
    }

    /// Dry readings on both walls.
    pub fn dry(&self) {
        self.ok(&["reading", "--on", "S,E", "--air", "16", "--humidity", "60", "--surface", "16"]);
    }

    /// A file in the job's folder.
    pub fn file(&self, name: &str, text: &str) -> String {
        self.bench.file(name, text).to_str().unwrap().to_owned()
    }

    /// A path in the job's folder.
    pub fn path(&self, name: &str) -> std::path::PathBuf {
        self.bench.path(name)
    }

    /// The folder, for a terminal.
    pub fn bench(&self) -> &Bench {
        &self.bench
    }

    /// Runs a command with `--json`.
    pub fn run(&self, args: &[&str]) -> Run {
        self.bench.run(["--db", "job.db", "--json"].iter().chain(args))
    }

    /// Runs a command for a person.
    #[track_caller]
    pub fn text(&self, args: &[&str]) -> String {
        self.bench.run(["--db", "job.db"].iter().chain(args)).exits(0).stdout
    }

    /// Runs a command that must be done.
    #[track_caller]
    pub fn ok(&self, args: &[&str]) -> Value {
        self.run(args).exits(0).json()
    }

    /// Runs a command that must be bad input; gives the message.
    #[track_caller]
    pub fn bad(&self, args: &[&str]) -> String {
        let run = self.run(args).exits(2);
        assert_eq!(run.stdout, "");
        run.stderr
    }
}

/// A time on 2 March 2026.
pub fn at(time: &str) -> String {
    format!("2026-03-02T{time}:00+13:00")
}

/// Hours of 2 March from seven on, 16 °C and dry but for the hours named.
pub fn forecast(wet: &[u32], cold: &[u32]) -> String {
    let mut text = "at,air_c,humidity_pct,surface_c,wind_kmh,rain_mm\n".to_owned();
    for hour in 7..=21 {
        let surface = if cold.contains(&hour) { 2 } else { 16 };
        let rain = if wet.contains(&hour) { "1.2" } else { "0" };
        text += &format!("2026-03-02T{hour:02}:00:00+13:00,{surface},60,{surface},9,{rain}\n");
    }
    text
}
