//! What is wrong with a sealing day, worded for the person who gave it.

use rust_decimal::Decimal;

use super::day::{MOST_CREW, MOST_JOINTS};

/// Which part of a day a error belongs to, so that a reader can add the line of its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// `from`.
    From,
    /// `until`.
    Until,
    /// `crew`.
    Crew,
    /// `tape_off_within_min`.
    TapeOffWithin,
    /// A key of `[window]`.
    Window(&'static str),
    /// A key of `[rates]`.
    Rate(&'static str),
    /// The n-th interval of `rain`, from 0.
    Rain(usize),
    /// The n-th wall, from 0.
    Wall(usize),
    /// The n-th interval of the sun on a wall, both from 0.
    Sun(usize, usize),
    /// A key of the n-th joint, from 0.
    Joint(usize, &'static str),
    /// The day as a whole.
    Whole,
}

/// One thing that is wrong with a day.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what}")]
pub struct DayError {
    /// Where it stands.
    pub place: Place,
    /// What is wrong, and what is wanted.
    pub what: ErrorKind,
}

/// Everything that is wrong with a day, in the order it was given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct DayFaults(pub Vec<DayError>);

/// The kinds of error.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum ErrorKind {
    #[error("until {until} is before from {from}")]
    EndsBeforeItStarts { from: String, until: String },
    #[error("the day from {from} until {until} is {hours} h long: 48 h is the most")]
    TooLong { from: String, until: String, hours: String },
    #[error("crew {0} is not a number of people from 1 to {MOST_CREW}")]
    Crew(i64),
    #[error("{key} {given} is negative")]
    Negative { key: &'static str, given: Decimal },
    #[error("{key} {given} is more than {most} {unit}")]
    TooMuch { key: &'static str, given: Decimal, most: u32, unit: &'static str },
    #[error("{whose} ends {to}, before it starts {from}")]
    Backwards { whose: String, from: String, to: String },
    #[error("wall '{key}' is given twice")]
    WallTwice { key: String },
    #[error("joint '{id}' is given twice")]
    JointTwice { id: String },
    #[error("joint '{id}' is on wall '{wall}', which is not given; the walls are {known}")]
    UnknownWall { id: String, wall: String, known: String },
    #[error("{what} is empty")]
    Blank { what: &'static str },
    #[error("{what} '{given}' has a control character in it")]
    Control { what: &'static str, given: String },
    #[error("joint '{id}': the work can't be worked out exactly: its length or a rate has too many digits")]
    Digits { id: String },
    #[error("{given} joints are more than one plan takes: {MOST_JOINTS} is the most; split the day")]
    TooManyJoints { given: usize },
    #[error("joint '{id}' was primed until {to}, which is after the plan begins at {from}")]
    PrimedLate { id: String, to: String, from: String },
}
