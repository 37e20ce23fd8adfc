//! What is wrong with a sealing day, worded for the person who gave it.

use rust_decimal::Decimal;

use super::given::{MOST_CREW, MOST_JOINTS};

/// One thing that is wrong with a day.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what}")]
pub struct DayError {
    /// The value that is wrong, as a JSON Pointer (RFC 6901) into the file of a day: `/joint/3/length_m`; the whole day
    /// when empty.
    pub at: String,
    /// What is wrong, and what is wanted.
    pub what: ErrorKind,
}

/// Everything that is wrong with a day, in the order it was given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct DayErrors(pub Vec<DayError>);

/// The kinds of error.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum ErrorKind {
    #[error("until {until} is before from {from}")]
    EndsBeforeItStarts { from: String, until: String },
    #[error("the day from {from} until {until} is {hours} h long; at most 48 h")]
    TooLong { from: String, until: String, hours: String },
    #[error("crew must be 1 to {MOST_CREW} people, not {0}")]
    Crew(i64),
    #[error("{key} must be 0 or more, not {given}")]
    Negative { key: &'static str, given: Decimal },
    #[error("{key} must be at most {most} {unit}, not {given}")]
    TooMuch { key: &'static str, given: Decimal, most: u32, unit: &'static str },
    #[error("{whose} ends {to}, before it starts {from}")]
    Backwards { whose: String, from: String, to: String },
    #[error("wall '{key}' is given twice")]
    WallTwice { key: String },
    #[error("joint '{id}' is given twice")]
    JointTwice { id: String },
    #[error("joint '{id}' is on wall '{wall}', which is not given; the walls are {known}")]
    UnknownWall { id: String, wall: String, known: String },
    #[error("joint '{id}' is on no wall")]
    NoWall { id: String },
    #[error("{what} is empty")]
    Blank { what: &'static str },
    #[error("{what} '{given}' has a control character in it")]
    Control { what: &'static str, given: String },
    #[error("joint '{id}': its length or a rate has too many digits to work with exactly")]
    Digits { id: String },
    #[error("{given} joints are too many for one plan; at most {MOST_JOINTS}: split the day")]
    TooManyJoints { given: usize },
    #[error("joint '{id}' was primed until {to}, which is after the plan begins at {from}")]
    PrimedLate { id: String, to: String, from: String },
}
