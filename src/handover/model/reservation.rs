//! What whoever accepts the work should know before they sign.

use serde::Serialize;

use crate::record::EntryId;

/// One thing to know before the work is accepted: it does not keep the job from being complete.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reservation {
    /// What kind of thing it is.
    #[serde(rename = "sort")]
    pub kind: &'static str,
    /// What to know, in one sentence.
    pub what: String,
    /// Where, written short; absent where it is about the whole job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub subject: Option<String>,
    /// The entry that it rests on, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<EntryId>,
    /// Id of the section of the pages that says more.
    #[serde(skip)]
    pub section: String,
}
