//! Hold points and defects.

use clap::Args;
use serde::{Deserialize, Serialize};

use crate::record::id::DefectId;

/// A release is asked for.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AskRelease {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
}

/// A hold point is released.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct ReleaseHold {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// Who releases it
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// How: on site, by phone, in writing
    #[arg(long, value_name = "TEXT")]
    pub how: String,
    /// What shows it: a message, a photo, a paper
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
}

/// A release is refused.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct RefuseHold {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// Who refuses it
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}

/// Somebody saw a defect.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct OpenDefect {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// What is wrong
    #[arg(long, value_name = "TEXT")]
    pub what: String,
}

/// A defect was put right.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct CloseDefect {
    /// Id of the defect
    #[arg(value_name = "ID")]
    pub defect: DefectId,
    /// Who says that it is put right
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// How it was put right
    #[arg(long, value_name = "TEXT")]
    pub how: String,
}

/// A concession: a defect may stand.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct ConcedeDefect {
    /// Id of the defect
    #[arg(value_name = "ID")]
    pub defect: DefectId,
    /// Who gives the concession
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// Why it may stand
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}
