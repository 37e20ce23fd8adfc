//! What a phone sends: when its answer is lost on the way it is sent again, and recorded once.

use super::command::{Command, Sent, json};
use super::error::JournalError;
use super::journal::{Journal, Timed};
use super::recorded::Recorded;
use super::undo::Undo;
use crate::day::Request;
use crate::moment::Moment;
use crate::record::EntryId;

/// What came of it, now or when it was sent first.
#[derive(Debug, Clone)]
pub struct Answer {
    /// [`Recorded`] as JSON, the same bytes each time.
    pub json: String,
    /// The first entry.
    pub entry: Option<EntryId>,
}

impl Journal {
    /// [`Journal::record_all`], once for one id.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then. [`JournalError::Reused`] where something else was sent under this id.
    pub fn record_sent(
        &mut self,
        sent: &Sent,
        requests: &[&dyn Request],
        by: &str,
        at: Moment,
        now: Moment,
    ) -> Result<Answer, JournalError> {
        let timed: Vec<Timed<'_>> = requests.iter().map(|request| (*request, at)).collect();
        self.once(sent, |journal| journal.record_as(&Command { undo: false, sent: Some(sent) }, &timed, by, now))
    }

    /// Takes back what a person recorded last, once for one id.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn undo_sent(
        &mut self,
        sent: &Sent,
        why: &str,
        anyway: bool,
        by: &str,
        now: Moment,
    ) -> Result<Answer, JournalError> {
        self.once(sent, |journal| {
            let undo = Undo { entries: journal.last_command_by(by)?, why: why.to_owned(), anyway };
            journal.undo_as(&Command { undo: true, sent: Some(sent) }, &undo, by, now, now)
        })
    }

    fn once(
        &mut self,
        sent: &Sent,
        record: impl FnOnce(&mut Self) -> Result<Recorded, JournalError>,
    ) -> Result<Answer, JournalError> {
        if let Some(before) = self.store().sent(&sent.phone, &sent.request)? {
            if before.sha256 != sent.sha256 {
                return Err(JournalError::Reused(sent.request.clone()));
            }
            let entry = serde_json::from_str(&before.answer).ok().and_then(first);
            return Ok(Answer { json: before.answer, entry });
        }
        let recorded = record(self)?;
        Ok(Answer { json: json(&recorded)?, entry: recorded.entries.first().map(|entry| entry.id.clone()) })
    }
}

/// The first entry of an answer.
fn first(answer: serde_json::Value) -> Option<EntryId> {
    answer.get("entries")?.get(0)?.get("id")?.as_str()?.parse().ok()
}
