//! A house whose joints are ready to be sealed.

use crate::harness::site::Site;

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

/// Set up and its day opened at `clock`, with both people on site; the frame is checked.
pub fn open(clock: &str) -> Site {
    of(JOB, clock)
}

/// As [`open`], with another job file.
pub fn of(job: &str, clock: &str) -> Site {
    let house = shut(job, clock).with_day(&["Lea Moss", "Ivo Reed"]);
    house.ok("record frame --on S,E");
    house
}

/// Set up, no day open.
pub fn shut(job: &str, clock: &str) -> Site {
    Site::set_up(clock, job, "tests/weather/seal.toml")
}

impl Site {
    /// Dry readings on both walls of the house.
    pub fn dry(&self) {
        self.ok("reading --on S,E --air 16 --humidity 60 --surface 16");
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
