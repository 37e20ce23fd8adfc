//! The plan as a value: what is done when and by whom, and what is left out.

use serde::Serialize;

use super::day::Day;

/// When one joint is worked on, in minutes of the day, and by whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedJoint {
    /// The joint, as an index into the day's joints.
    pub joint: usize,
    /// Start of masking; for a joint primed already, the start of its priming.
    pub mask_at: i32,
    /// Start of priming.
    pub prime_at: i32,
    /// Start of gunning.
    pub gun_at: i32,
    /// Start of taking the tape off.
    pub tape_off_at: i32,
    /// When the tape is off.
    pub done_at: i32,
    /// Who masks and primes, from 1; absent for a joint that was primed before the plan begins.
    pub primed_by: Option<usize>,
    /// Who guns and takes the tape off, from 1.
    pub gunned_by: usize,
}

/// A joint that the plan leaves unprimed (or, when it was primed already, can't save).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The joint, as an index into the day's joints.
    pub joint: usize,
    /// Why, for a person.
    pub why: String,
}

/// A timetable for the sealing day.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    /// The joints that are sealed, in the order the day gives them.
    pub joints: Vec<PlannedJoint>,
    /// The joints that are not, in the same order.
    pub left_out: Vec<LeftOut>,
    /// Whether it is proved that no plan seals more joints, nor as many by an earlier finish.
    pub proven: bool,
}

/// What one person does at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Task {
    /// Masking both sides.
    Mask,
    /// Priming.
    Prime,
    /// Gunning and tooling.
    Gun,
    /// Taking the tape off.
    #[serde(rename = "tape off")]
    TapeOff,
}

/// One person's work on one task of one joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stint {
    /// When it starts, in minutes of the day.
    pub from: i32,
    /// When it ends.
    pub to: i32,
    /// What is done.
    pub task: Task,
    /// The joint, as an index into the day's joints.
    pub joint: usize,
}

impl Task {
    /// The word for it on screens.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mask => "mask",
            Self::Prime => "prime",
            Self::Gun => "gun",
            Self::TapeOff => "tape off",
        }
    }
}

impl Plan {
    /// When the last joint is done, in minutes of the day; `None` when nothing is planned.
    pub fn finish(&self) -> Option<i32> {
        self.joints.iter().map(|joint| joint.done_at).max()
    }

    /// What a person (from 1) does, in order.
    pub fn stints(&self, day: &Day, person: usize) -> Vec<Stint> {
        let mut stints = Vec::new();
        for planned in &self.joints {
            let Some(joint) = day.joints.get(planned.joint) else { continue };
            let mut add = |task, from, long| stints.push(Stint { from, to: from + long, task, joint: planned.joint });
            if planned.primed_by == Some(person) {
                add(Task::Mask, planned.mask_at, joint.mask);
                add(Task::Prime, planned.prime_at, joint.prime);
            }
            if planned.gunned_by == person {
                add(Task::Gun, planned.gun_at, joint.gun);
                add(Task::TapeOff, planned.tape_off_at, joint.tape_off);
            }
        }
        stints.sort_unstable();
        stints
    }
}
