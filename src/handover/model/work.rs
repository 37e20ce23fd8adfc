//! Steps and windows, as the pack lists them.

use super::words::ends_on;
use crate::day::{Judged, Run};
use crate::moment::Moment;
use crate::record::{Entry, StepDone};

/// A step done on a subject.
#[derive(Debug)]
pub struct Step<'b> {
    /// The entry.
    pub entry: &'b Entry,
    /// What it says.
    pub done: &'b StepDone,
    /// The part of the building that it belongs to.
    pub part: &'b str,
    /// Title of the step.
    pub title: &'b str,
    /// The answers as they were judged.
    pub answers: &'b [Judged],
}

impl Step<'_> {
    /// Whether two steps differ in nothing but the subject: what each answer was held to is the same, too.
    pub fn is_like(&self, other: &Self) -> bool {
        let (one, two) = (self.entry, other.entry);
        self.done.step == other.done.step
            && one.happened_at == two.happened_at
            && one.by == two.by
            && one.is_late() == two.is_late()
            && one.device == two.device
            && (self.done.began, &self.done.anyway) == (other.done.began, &other.done.anyway)
            && self.done.answers == other.done.answers
            && self.answers.len() == other.answers.len()
            && self.answers.iter().zip(other.answers).all(|(one, two)| {
                (&one.ask.key, &one.answer, one.held, one.allowed())
                    == (&two.ask.key, &two.answer, two.held, two.allowed())
            })
    }
}

/// How a run of a window ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::IntoStaticStr)]
#[strum(serialize_all = "lowercase")]
pub enum Outcome {
    /// The second step was done in time.
    Met,
    /// It was left to somebody else, who has until the window closes.
    #[strum(serialize = "handed-on")]
    HandedOn,
    /// It was done before the window opened.
    Early,
    /// It was done after the window had closed or lapsed.
    Late,
    /// It was not done in time.
    Lapsed,
    /// It was begun again before it was used.
    Again,
    /// It still runs.
    Running,
}

impl Outcome {
    /// The word, for tables.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// For pages, behind how many ended so.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::HandedOn => "left to others",
            Self::Again => "begun again",
            Self::Running => "still running",
            Self::Met | Self::Early | Self::Late | Self::Lapsed => self.word(),
        }
    }
}

impl WindowRun<'_> {
    /// From when to when its second step may be done: "13:40 to 18:40"; the day of `from` is known.
    pub fn open_in_words(&self, from: &Moment) -> String {
        let opens = ends_on(&self.run.opens_at, &self.run.began, from);
        match self.run.closes_at {
            Some(closes) => format!("{opens} to {}", ends_on(&closes, &self.run.began, from)),
            None => opens,
        }
    }
}

/// One run of a window on a subject.
#[derive(Debug)]
pub struct WindowRun<'b> {
    /// The run.
    pub run: Run<'b>,
    /// The part of the building.
    pub part: &'b str,
    /// Id of the subject.
    pub subject: String,
    /// How it ended.
    pub outcome: Outcome,
    /// The same in words.
    pub says: String,
}
