//! A refusal: what is stopped, by which rule, why, and what clears it.

use std::fmt;

use serde::ser::SerializeMap;
use serde::{Deserialize, Serialize, Serializer};

use crate::moment::Moment;
use crate::plain::quoted;
use crate::units::Quantity;

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

/// What clears a refusal, as data: a page leads to it, a program asks for it, a command line types it.
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
        /// What is read.
        #[serde(skip)]
        what: Vec<Quantity>,
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
        /// Who has not.
        #[serde(skip)]
        people: Vec<String>,
    },
    /// What can be used is delivered.
    Deliver {
        /// The product.
        product: String,
    },
    /// The site day is opened.
    OpenDay,
    /// The site day that is open is closed.
    CloseDay {
        /// It ended earlier: when, has to be said.
        #[serde(skip)]
        earlier: bool,
    },
}

/// As a command; what only a person knows is left open.
impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Record { step, on, .. } => write!(f, "cladlog record {step} --on {on}"),
            Self::Read { on, what, .. } => {
                // Whatever is read, rain is said along with it.
                let said = what.iter().filter(|quantity| **quantity != Quantity::Rain || what.len() == 1);
                let options: Vec<&str> = said.map(|quantity| quantity.option()).collect();
                write!(f, "cladlog reading --on {on} {}", options.join(" "))
            }
            Self::Release { hold, on } => write!(f, "cladlog hold release {hold} --on {on} --person NAME --how …"),
            Self::Acknowledge { caution, people } => {
                let people: Vec<String> = people.iter().map(|name| quoted(name)).collect();
                write!(f, "cladlog caution acknowledge {caution} --person {}", people.join(" "))
            }
            Self::Deliver { product } => write!(f, "cladlog batch add --product {product} …"),
            Self::OpenDay => f.write_str("cladlog day open --crew NAME… --talk TEXT"),
            Self::CloseDay { earlier: false } => f.write_str("cladlog day close --hours NAME=HOURS…"),
            Self::CloseDay { earlier: true } => f.write_str("cladlog day close --at TIME --hours NAME=HOURS…"),
        }
    }
}

/// What clears a refusal. Displayed, it is what a command line says: the words, the command of the remedy, and what else
/// can be typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clears {
    /// In words, as far as the remedy does not say it.
    pub words: String,
    /// As data, where a step or another request clears it.
    pub remedy: Option<Remedy>,
    /// What is said besides at a command line, behind the rest.
    typed: String,
}

impl<T: Into<String>> From<T> for Clears {
    fn from(words: T) -> Self {
        Self { words: words.into(), remedy: None, typed: String::new() }
    }
}

impl From<Remedy> for Clears {
    fn from(remedy: Remedy) -> Self {
        Self::from("").by(remedy)
    }
}

impl Clears {
    /// The same, done by this.
    #[must_use]
    pub fn by(self, remedy: Remedy) -> Self {
        Self { remedy: Some(remedy), ..self }
    }

    /// The same, with more to say at a command line.
    #[must_use]
    pub fn typed(self, more: &str) -> Self {
        Self { typed: self.typed + more, ..self }
    }
}

impl fmt::Display for Clears {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { words, remedy, typed } = self;
        match remedy {
            None => f.write_str(words)?,
            Some(remedy) if words.is_empty() => write!(f, "{remedy}")?,
            // Beside another way out, which the words name first.
            Some(remedy @ Remedy::Deliver { .. }) => write!(f, "{words} ({remedy})")?,
            Some(remedy) => write!(f, "{words}: {remedy}")?,
        }
        f.write_str(typed)
    }
}

impl Serialize for Clears {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("clears", &self.to_string())?;
        if let Some(remedy) = &self.remedy {
            map.serialize_entry("remedy", remedy)?;
        }
        map.end()
    }
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
    /// What clears it.
    #[serde(flatten)]
    pub clears: Box<Clears>,
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
    pub fn new(rule: Rule, what: impl Into<String>, why: impl Into<String>, clears: impl Into<Clears>) -> Self {
        let (what, why, clears) = (what.into(), why.into(), Box::new(clears.into()));
        Self { rule, what, why, clears, opens_at: None, closed_at: None, unless_anyway: false }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} (rule {})", self.what, self.why, self.rule)
    }
}

impl std::error::Error for Refusal {}
