//! Work that stopped, why, and who was notified.

use serde::Serialize;

use crate::building::on_words;
use crate::moment::{Moment, span};
use crate::plain::names;
use crate::record::EntryId;

/// A time in which work stood still.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stoppage {
    /// The entry that started it.
    #[serde(rename = "id")]
    pub entry: EntryId,
    /// Id of the subject; `job` for all of it.
    pub subject: String,
    /// What stopped it.
    pub cause: String,
    /// Whether it rained there as long as it lasted.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub rain: bool,
    /// Who was notified, on the job or not.
    #[serde(rename = "told")]
    pub notified: Vec<String>,
    /// How many stood idle; everybody on site when nobody says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// Who recorded it.
    pub by: String,
    /// When it began.
    pub started_at: Moment,
    /// When work resumed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// The entry that ended it.
    #[serde(rename = "ended_by_entry", skip_serializing_if = "Option::is_none")]
    pub ended_by: Option<EntryId>,
    /// Remark at its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// The place of its beginning among all that was folded in.
    #[serde(skip)]
    pub started: usize,
    /// That of its end.
    #[serde(skip)]
    pub ended: Option<usize>,
}

impl Stoppage {
    /// An open stoppage in a line: where, since when, why, who was notified.
    pub fn standing(&self, now: Moment) -> String {
        format!(
            "STOPPED{} since {} ({}): {}; notified {}",
            on_words(&self.subject),
            self.started_at.clock(now.date()),
            span(now - self.started_at),
            self.cause,
            names(&self.notified)
        )
    }
}
