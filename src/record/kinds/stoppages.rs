//! Stoppages and extra work.

use clap::Args;
use serde::{Deserialize, Serialize};

use crate::record::id::EntryId;
use crate::units::{parse_count, parse_decimal};

/// Work stops.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct StartStoppage {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What stopped it: rain, wind, no access, another trade, … [default with --rain: rain]
    // In a request, empty stands for the usual one.
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub cause: String,
    /// Who was notified, on the job or not
    #[arg(long = "told", num_args = 1.., value_name = "NAME")]
    #[serde(rename = "told", default, skip_serializing_if = "Vec::is_empty")]
    pub notified: Vec<String>,
    /// It is raining there until work resumes: whatever rain lapses, lapses
    #[arg(long)]
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub rain: bool,
    /// How many of the crew stand idle [default: everybody on site]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = parse_count)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
}

/// Work resumes.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct EndStoppage {
    /// Id of the entry that started it [default: the only open one]
    // Always there in an entry.
    #[arg(value_name = "ID")]
    pub stoppage: Option<EntryId>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Somebody asks for work beyond what was agreed.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct AddExtra {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What is asked for
    #[arg(long, value_name = "TEXT")]
    pub what: String,
    /// Who asked, on the job or not
    #[arg(long, value_name = "NAME")]
    pub asked_by: String,
    /// Who else was notified
    #[arg(long = "told", num_args = 1.., value_name = "NAME")]
    #[serde(rename = "told", default, skip_serializing_if = "Vec::is_empty")]
    pub notified: Vec<String>,
    /// Hours that it took or will take, of each of the people
    #[arg(long, value_name = "H", allow_negative_numbers = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    /// How many people
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = parse_count)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// How much, in --unit
    #[arg(long, value_name = "Q", allow_negative_numbers = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<f64>,
    /// The unit of the quantity: m2, m, each, …
    #[arg(long, value_name = "U")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}
