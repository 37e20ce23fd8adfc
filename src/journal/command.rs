//! What is noted of a command beside its entries.

use super::error::JournalError;
use super::recorded::Recorded;
use crate::record::SentRow;

/// What is noted of a command beside its entries.
#[derive(Default)]
pub(super) struct Command<'a> {
    /// Whether it is an undo.
    pub undo: bool,
    /// What a phone sent.
    pub sent: Option<&'a Sent>,
}

/// Something that a phone sent, by the id that the phone gave it.
#[derive(Debug, Clone)]
pub struct Sent {
    /// Id of the phone.
    pub phone: String,
    /// Id of the request.
    pub request: String,
    /// SHA-256 of what it says, lower-case hex: under one id nothing else may be sent.
    pub sha256: String,
}

impl Sent {
    pub(super) fn row(&self, recorded: &Recorded) -> Result<SentRow, JournalError> {
        let Self { phone, request, sha256 } = self.clone();
        Ok(SentRow { phone, request, sha256, answer: json(recorded)? })
    }
}

/// What was recorded, as it is answered.
pub(super) fn json(recorded: &Recorded) -> Result<String, JournalError> {
    serde_json::to_string(recorded).map_err(JournalError::Unwritten)
}
