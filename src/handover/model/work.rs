//! Steps, readings, windows, hold points, defects and photos, as the pack lists them.

use serde::Serialize;

use crate::moment::Moment;
use crate::photos::{Direction, Place};

/// A step done on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct StepTold {
    /// Id of the entry.
    pub entry: String,
    /// The part of the building that it belongs to.
    pub part: String,
    /// Id of the subject.
    pub subject: String,
    /// Key of the step.
    pub step: String,
    /// What was done.
    pub title: String,
    /// When.
    pub at: Moment,
    /// Recorded late.
    pub late: bool,
    /// Who recorded it.
    pub by: String,
    /// Answers.
    pub answers: Vec<Answered>,
    /// Why it was recorded although a rule stopped it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answered {
    /// Key of the ask.
    pub ask: String,
    /// The question.
    pub prompt: String,
    /// The answer with its unit.
    pub answer: String,
    /// The number alone, in `unit`, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The unit of the number.
    #[serde(skip_serializing_if = "str::is_empty")]
    pub unit: &'static str,
    /// SHA-256 of the file, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
    /// What is in tolerance, in words; empty where anything goes.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub allowed: String,
    /// What the tolerance rests on: a line of [`Document::bases`], from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<usize>,
    /// Whether it is in tolerance; absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within: Option<bool>,
    /// The defect that it opened, and how that stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub defect: Option<String>,
}

/// A reading of site conditions.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingTold {
    /// Id of the entry.
    pub entry: String,
    /// The wall.
    pub subject: String,
    /// When.
    pub at: Moment,
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Dew point, °C, by the same formula as the limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dew_point_c: Option<f64>,
    /// Wind, km/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Rain on the wall.
    pub rain: bool,
    /// When it was recorded, where that was after a step that it lets pass.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recorded_after_work: Option<Moment>,
}

/// One run of a window on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct WindowTold {
    /// Key.
    pub key: String,
    /// What it is.
    pub title: String,
    /// The part of the building.
    pub part: String,
    /// The subject.
    pub subject: String,
    /// Id of the entry that began it.
    pub from_entry: String,
    /// When it began.
    pub began_at: Moment,
    /// When it opened.
    pub opens_at: Moment,
    /// When it closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closes_at: Option<Moment>,
    /// When the second step was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answered_at: Option<Moment>,
    /// Id of the entry that did it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to_entry: Option<String>,
    /// When rain or frost ended it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spoiled_at: Option<Moment>,
    /// How it stands: met, early, late, lapsed, again, running.
    pub state: &'static str,
    /// The same in words.
    pub says: String,
    /// What its times rest on: a line of [`Document::bases`], from 1.
    pub basis: usize,
}

/// A hold point on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct HoldTold {
    /// Key.
    pub key: String,
    /// What is released.
    pub title: String,
    /// On what.
    pub subject: String,
    /// held, released or refused.
    pub state: &'static str,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// Who released or refused it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// In which role.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<Moment>,
    /// How, or why not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// What shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
    /// When it was last asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_at: Option<Moment>,
    /// Id of the entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<String>,
}

/// A defect.
#[derive(Debug, Clone, Serialize)]
pub struct DefectTold {
    /// Number in this pack, as the drawings mark it.
    pub number: usize,
    /// Id.
    pub id: String,
    /// The part of the building.
    pub part: String,
    /// The subject.
    pub subject: String,
    /// The rule that found it; absent when a person did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// What is wrong.
    pub what: String,
    /// Id of the entry that opened it.
    pub opened_by: String,
    /// When.
    pub opened_at: Moment,
    /// open, closed or conceded.
    pub state: &'static str,
    /// How it was put right, or why it may stand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// Who says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Id of the entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_by: Option<String>,
}

/// A photo.
#[derive(Debug, Clone, Serialize)]
pub struct PhotoTold {
    /// Its number in this pack, from 1; the same file has the same number. Absent where only its name is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<usize>,
    /// The part of the building.
    pub part: String,
    /// Ids of the subjects.
    pub subjects: Vec<String>,
    /// Key of the step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// What was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// When that was, or when the photo was recorded.
    pub at: Moment,
    /// Its name when it was recorded.
    pub file: String,
    /// SHA-256 of the original, lower-case hex.
    pub sha256: String,
    /// When the camera says that it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_at: Option<Moment>,
    /// What was said about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What a reader should know about it.
    pub flags: Vec<String>,
    /// Ids of the entries.
    pub entries: Vec<String>,
    /// How it stands in the pack: original, copy, left out, missing, named only.
    pub stands: &'static str,
    /// Path of its file in the pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// SHA-256 of the copy in the pack, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub copy_sha256: Option<String>,
    /// Path of its small picture in the pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub small: Option<String>,
    /// Why there is no small picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why_no_small: Option<String>,
    /// Where it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Which way the camera looked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub direction: Option<Direction>,
}
