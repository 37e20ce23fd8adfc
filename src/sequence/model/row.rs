//! Some of a row of courses or joints, by their place in it.

use crate::building::{Job, Subject};

/// Some of a row of courses or joints, by their place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum Which {
    /// The lowest course, the leftmost joint.
    First,
    /// The highest course, the rightmost joint.
    Last,
    /// All but the first.
    AllButFirst,
    /// All but the last.
    AllButLast,
}

impl Which {
    /// Whether it takes a number of a row that ends with `last`.
    pub fn takes(self, number: u32, last: u32) -> bool {
        match self {
            Self::First => number == 1,
            Self::Last => number == last,
            Self::AllButFirst => number != 1,
            Self::AllButLast => number != last,
        }
    }
}

/// The number of the last course or joint of a subject's row.
pub(super) fn last_of_row(subject: &Subject, job: &Job) -> u32 {
    let wall = subject.wall().and_then(|key| job.wall(key));
    wall.map_or(0, |wall| match subject {
        Subject::Joint { .. } => wall.joints.len() as u32,
        _ => wall.courses,
    })
}

/// Whether something that is only for some of a row is for a subject.
pub(super) fn is_taken(which: Option<Which>, subject: &Subject, job: &Job) -> bool {
    let number = which.zip(subject.number());
    number.is_none_or(|(which, number)| which.takes(number, last_of_row(subject, job)))
}
