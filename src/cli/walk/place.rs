//! Where the lead stands.

use crate::building::{Subject, Subjects};
use crate::cli::failure::Failure;
use crate::day::State;
use crate::plain::count;

/// Where the lead stands: what the walk turns to is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Not said yet.
    Unknown,
    /// Anywhere on the job.
    Anywhere,
    /// At a wall, by its index.
    Wall(usize),
}

impl Place {
    /// The wall, where it is one.
    pub fn wall(self) -> Option<usize> {
        if let Self::Wall(wall) = self { Some(wall) } else { None }
    }
}

/// The wall that a person typed.
pub fn wall_named(subjects: &Subjects, key: &str) -> Result<usize, Failure> {
    let found = subjects.parse(key).map_err(Failure::input)?;
    match found.as_slice() {
        [only] if matches!(subjects.get(*only), Subject::Wall(_)) => Ok(*only),
        _ => Err(Failure::input(format!("'{key}' is not a wall: type one of {}", keys(subjects)))),
    }
}

/// A wall as something to go to: "N: 3 steps can be done".
pub fn wall_words(state: &State, wall: usize, steps: usize) -> String {
    format!("go to {}: {} can be done there", state.subjects.get(wall), count(steps, "step"))
}

fn keys(subjects: &Subjects) -> String {
    let keys: Vec<String> = subjects.all_walls().iter().map(|wall| subjects.get(*wall).to_string()).collect();
    keys.join(", ")
}
