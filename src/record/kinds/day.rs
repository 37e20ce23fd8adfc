//! The site day: who is there, which cautions they acknowledge.

use std::collections::BTreeMap;

use clap::Args;
use serde::{Deserialize, Serialize};

/// A site day begins.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct OpenDay {
    /// Who is on site
    #[arg(long, num_args = 1.., value_name = "NAME")]
    pub crew: Vec<String>,
    /// What the pre-start talk was about
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// A hazard of the day
    #[arg(long = "hazard", value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hazards: Vec<String>,
}

/// People join the crew later in the day.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct JoinDay {
    /// Who came onto site
    #[arg(long, num_args = 1.., required = true, value_name = "NAME")]
    pub crew: Vec<String>,
}

/// People leave the site before the day is closed.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct LeaveDay {
    /// Who left
    #[arg(num_args = 1.., required = true, value_name = "NAME")]
    pub crew: Vec<String>,
}

/// The site day ends.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct CloseDay {
    /// Hours worked, by person.
    #[arg(skip)]
    pub hours: BTreeMap<String, f64>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// People acknowledge a caution.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AcknowledgeCaution {
    /// Key of the caution
    #[arg(value_name = "KEY")]
    pub caution: String,
    /// Who acknowledged it
    #[arg(long = "person", num_args = 1.., required = true, value_name = "NAME")]
    pub people: Vec<String>,
}
