//! A step done, and its answers as they were judged.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::moment::Moment;
use crate::record::{Answer, DefectId, EntryId};
use crate::sequence::Ask;
use crate::units::number::show;

/// A step done on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct Done {
    /// The entry.
    pub entry: EntryId,
    /// When it happened.
    pub at: Moment,
    /// When it was begun; the same where nobody said.
    #[serde(skip)]
    pub began: Moment,
    /// Its place among all that was folded in: of what bears the same moment, what was recorded later happened later.
    #[serde(skip)]
    pub order: usize,
    /// Who recorded it.
    pub by: String,
    /// Index of the site day that it fell into.
    #[serde(skip)]
    pub day: Option<usize>,
    /// Its answers, in the order of the asks.
    pub answers: Vec<Judged>,
    /// Why it was recorded although a rule stopped it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
    /// How far the file held every other device's book when it was recorded.
    #[serde(skip)]
    pub seen: BTreeMap<String, u64>,
}

/// An answer, judged by its ask as that was in force: nobody has to judge it again.
#[derive(Debug, Clone)]
pub struct Judged {
    /// What was asked, with the tolerance and the planned value in force.
    pub ask: Arc<Ask>,
    /// The answer.
    pub answer: Answer,
    /// Whether it was in tolerance; `None` where anything goes.
    pub held: Option<bool>,
    /// The defect that it opened.
    pub defect: Option<DefectId>,
    /// It is out of tolerance, and may stand.
    pub conceded: bool,
}

impl Done {
    /// Whether an answer is out of tolerance and was not conceded: while there is one, the step stays open.
    pub fn is_out_of_tolerance(&self) -> bool {
        self.answers.iter().any(|judged| judged.held == Some(false) && !judged.conceded)
    }

    /// The answer to the ask of this key.
    pub fn answer(&self, ask: &str) -> Option<&Judged> {
        self.answers.iter().find(|judged| judged.ask.key == ask)
    }
}

/// The number of an answer, in the ask's unit: as it was read, or as it follows from what was read.
pub fn number(ask: &Ask, answer: &Answer) -> Option<f64> {
    match answer {
        Answer::Number(value) => Some(*value),
        Answer::Frame(frame) => frame.out_of_square(ask.square_over?).ok().map(|frame| frame.out_mm),
        _ => None,
    }
}

impl Judged {
    /// The number, where it is one, in the ask's unit.
    pub fn value(&self) -> Option<f64> {
        number(&self.ask, &self.answer)
    }

    /// SHA-256 of the file, where it is one.
    pub fn sha256(&self) -> Option<&str> {
        match &self.answer {
            Answer::File { sha256, .. } => Some(sha256),
            _ => None,
        }
    }

    /// What would have been in tolerance, in words; empty where anything goes.
    pub fn allowed(&self) -> String {
        self.held.map(|_| self.ask.tolerance_words()).unwrap_or_default()
    }

    /// The answer with its unit.
    pub fn in_words(&self) -> String {
        let unit = self.ask.unit();
        match (self.value(), &self.answer) {
            (Some(value), Answer::Frame(frame)) => format!("{} {unit} ({frame})", show(value)),
            (Some(_), answer) if !unit.is_empty() => format!("{answer} {unit}"),
            (_, answer) => answer.to_string(),
        }
    }
}

impl Serialize for Judged {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("ask", &self.ask.key)?;
        map.serialize_entry("prompt", &self.ask.prompt)?;
        map.serialize_entry("answer", &self.in_words())?;
        if let Some(value) = self.value() {
            map.serialize_entry("value", &value)?;
            map.serialize_entry("unit", self.ask.unit())?;
        }
        if let Some(sha256) = self.sha256() {
            map.serialize_entry("sha256", sha256)?;
        }
        if let Some(held) = self.held {
            map.serialize_entry("allowed", &self.ask.tolerance_words())?;
            map.serialize_entry("within", &held)?;
        }
        if let Some(defect) = &self.defect {
            map.serialize_entry("defect", defect)?;
        }
        map.end()
    }
}
