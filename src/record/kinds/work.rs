//! What is done and seen on the building.

use std::collections::BTreeMap;

use clap::Args;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::moment::Moment;
use crate::photos::PhotoFacts;
use crate::record::answer::Answer;
use crate::refusal::Rule;

/// A step was done on a subject. What is asked for is a [`RecordStep`](crate::day::RecordStep), whose answers are not
/// read yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepDone {
    /// Key of the step.
    pub step: String,
    /// Id of the subject.
    pub subject: String,
    /// Answers by key of the ask.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub answers: BTreeMap<String, Answer>,
    /// When it was begun, where that was said: some windows count from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began: Option<Moment>,
    /// Why it is recorded although a rule stops it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
    /// The rules that stopped it then. What is recorded later, or struck, may make them hold; that they stopped it stays.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stopped_by: Vec<StoppedBy>,
}

/// A rule that stopped what was recorded anyway.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoppedBy {
    /// The rule.
    pub rule: Rule,
    /// The hold point, window, limit or caution.
    pub key: String,
    /// Why.
    pub why: String,
}

/// A sum is kept: what went in and what came out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeepPlan {
    /// Name of the sum.
    pub sum: String,
    /// Id of the subject.
    pub subject: String,
    /// What went in.
    pub inputs: Value,
    /// What came out, as the command prints it.
    pub result: Value,
}

/// A photo of a subject; its bytes are kept beside the database. What is asked for is
/// [`AddPhotos`](crate::day::AddPhotos).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AddPhoto {
    /// Id of the subject.
    pub subject: String,
    /// Key of the step that it shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// Its name when it was recorded.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// What was kept of it.
    pub photo: PhotoFacts,
    /// What it shows, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A remark on a subject.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddNote {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// The remark
    #[arg(long, value_name = "TEXT")]
    pub text: String,
}
