//! A refusal: what is stopped, by which rule, why, and what clears it.

use crate::moment::Moment;
use serde::{Deserialize, Serialize};

/// The rules of the site record. Entries, messages and other programs know them by their numbers. R16, on whose word what is
/// typed in the name of others rests, stops nothing.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, strum::Display, strum::EnumString,
)]
pub enum Rule {
    /// Append-only record.
    #[serde(rename = "R1")]
    #[strum(serialize = "R1")]
    AppendOnly,
    /// Strike, never erase.
    #[serde(rename = "R2")]
    #[strum(serialize = "R2")]
    Strike,
    /// Two times: when it happened, when it was recorded.
    #[serde(rename = "R3")]
    #[strum(serialize = "R3")]
    TwoTimes,
    /// Order of stages and steps.
    #[serde(rename = "R4")]
    #[strum(serialize = "R4")]
    Order,
    /// Hold points.
    #[serde(rename = "R5")]
    #[strum(serialize = "R5")]
    HoldPoint,
    /// Time windows.
    #[serde(rename = "R6")]
    #[strum(serialize = "R6")]
    Window,
    /// Limits on site conditions.
    #[serde(rename = "R7")]
    #[strum(serialize = "R7")]
    Condition,
    /// Asks and their tolerances.
    #[serde(rename = "R8")]
    #[strum(serialize = "R8")]
    Answer,
    /// Cautions, acknowledged by each person each day.
    #[serde(rename = "R9")]
    #[strum(serialize = "R9")]
    Caution,
    /// Authority: roles on the job.
    #[serde(rename = "R10")]
    #[strum(serialize = "R10")]
    Authority,
    /// The truth can always be told.
    #[serde(rename = "R11")]
    #[strum(serialize = "R11")]
    Anyway,
    /// Work is recorded in an open day.
    #[serde(rename = "R12")]
    #[strum(serialize = "R12")]
    OpenDay,
    /// The sequence a job was started with is pinned.
    #[serde(rename = "R13")]
    #[strum(serialize = "R13")]
    Pinned,
    /// A clock that went back.
    #[serde(rename = "R14")]
    #[strum(serialize = "R14")]
    Clock,
    /// Every number has a basis.
    #[serde(rename = "R15")]
    #[strum(serialize = "R15")]
    Basis,
    /// What the last command recorded can be taken back as one.
    #[serde(rename = "R17")]
    #[strum(serialize = "R17")]
    Undo,
}

/// What clears a refusal, as data: a page leads to it, a program asks for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub enum Remedy {
    /// A step is recorded on a subject.
    Record {
        /// Key of the step.
        step: String,
        /// Id of the subject.
        on: String,
        /// What is done before it, in words.
        #[serde(skip_serializing_if = "Option::is_none")]
        before: Option<String>,
    },
    /// A reading is taken on a wall.
    Read {
        /// Id of the wall.
        on: String,
        /// What is waited for first, in words.
        #[serde(skip_serializing_if = "Option::is_none")]
        before: Option<String>,
    },
    /// A hold point is released.
    Release {
        /// Key of the hold point.
        hold: String,
        /// Id of the subject.
        on: String,
    },
    /// A caution is acknowledged by everyone who has not.
    Acknowledge {
        /// Key of the caution.
        caution: String,
    },
    /// What can be used is delivered.
    Deliver {
        /// The product.
        product: String,
    },
    /// The site day is opened.
    OpenDay,
    /// The site day that is open is closed.
    CloseDay,
}

/// What a rule stopped. Worded like a good foreman: fact, reason, way out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Refusal {
    /// The rule that stops it.
    pub rule: Rule,
    /// What is stopped, such as "gun the sealant on N/J2".
    pub what: String,
    /// Why: what was given and what is required.
    pub why: String,
    /// What clears it, as a person or a command would do it.
    pub clears: String,
    /// How many bytes of that come before what is typed at the command line.
    #[serde(skip)]
    pub in_words: u32,
    /// The same as data, where a step or another request clears it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<Box<Remedy>>,
    /// When it opens, where time alone clears it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub opens_at: Option<Moment>,
    /// When it closed, where time has passed it by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closed_at: Option<Moment>,
    /// Whether it is taken all the same when it is asked for anyway: what comes of it becomes a defect.
    #[serde(skip)]
    pub unless_anyway: bool,
}

impl Refusal {
    /// A refusal without times.
    pub fn new(rule: Rule, what: impl Into<String>, why: impl Into<String>, clears: impl Into<String>) -> Self {
        let (what, why, clears) = (what.into(), why.into(), clears.into());
        let in_words = u32::try_from(clears.len()).unwrap_or(u32::MAX);
        Self { rule, what, why, clears, in_words, remedy: None, opens_at: None, closed_at: None, unless_anyway: false }
    }

    /// The same, and how it is cleared at the command line, said after the words.
    #[must_use]
    pub fn at_command_line(self, more: &str) -> Self {
        Self { clears: self.clears + more, ..self }
    }

    /// What clears it, without what is typed at the command line.
    pub fn clears_in_words(&self) -> &str {
        self.clears.get(..self.in_words as usize).unwrap_or(&self.clears)
    }

    /// The same, and what clears it as data.
    #[must_use]
    pub fn cleared_by(self, remedy: Remedy) -> Self {
        Self { remedy: Some(Box::new(remedy)), ..self }
    }
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {} (rule {})", self.what, self.why, self.rule)
    }
}

impl std::error::Error for Refusal {}
