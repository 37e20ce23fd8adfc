//! Setting the job up and changing it: building, sequence, people.

use clap::Args;
use serde::{Deserialize, Serialize};

use crate::building::Job;

/// The job is set up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetUpJob {
    /// The building and its people.
    pub building: Box<Job>,
    /// The text of the sequence file that it is built by.
    pub sequence: String,
}

/// A newer sequence is adopted.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AdoptSequence {
    /// The text of the sequence file.
    #[arg(skip)]
    pub sequence: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}

/// The building of a running job changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReviseJob {
    /// The job as it is from now on; its key and time zone stay.
    pub building: Box<Job>,
    /// What differs from before, in words.
    pub changes: Vec<String>,
    /// Why.
    pub why: String,
    /// Even if work is recorded on parts that go: it becomes a defect.
    #[serde(default, skip_serializing_if = "is_false")]
    pub anyway: bool,
}

fn is_false(yes: &bool) -> bool {
    !yes
}

/// A person comes onto the job.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddPerson {
    /// Full name
    pub name: String,
    /// A role, as the sequence names it
    #[arg(long = "role", required = true)]
    pub roles: Vec<String>,
}
