//! What a phone sends: when its answer is lost on the way it is sent again, and recorded once.

use super::command::{Command, Sent, json};
use super::error::JournalError;
use super::journal::{Journal, Timed};
use super::recorded::Recorded;
use super::undo::Undo;
use crate::moment::Moment;
use crate::record::{EntryId, EntryRun};

/// What came of it, now or when it was sent first.
#[derive(Debug, Clone)]
pub struct Answer {
    /// [`Recorded`] as JSON, the same bytes each time.
    pub json: String,
    /// The entries.
    pub entries: Option<EntryRun>,
}

impl Journal {
    /// [`Journal::record_each`], once for one id.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then. [`JournalError::Reused`] where something else was sent under this id.
    pub fn record_sent(
        &mut self,
        sent: &Sent,
        requests: &[Timed<'_>],
        by: &str,
        now: Moment,
    ) -> Result<Answer, JournalError> {
        self.once(sent, |journal| journal.record_as(&Command { undo: false, sent: Some(sent) }, requests, by, now))
    }

    /// Takes back these entries of a person, or what the person recorded last, once for one id.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn undo_sent(
        &mut self,
        sent: &Sent,
        these: Option<&EntryRun>,
        why: &str,
        anyway: bool,
        by: &str,
        now: Moment,
    ) -> Result<Answer, JournalError> {
        self.once(sent, |journal| {
            let entries = match these {
                Some(these) => journal.left_of(these, by)?,
                None => journal.last_command_by(by)?,
            };
            let undo = Undo { entries, why: why.to_owned(), anyway };
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
            let entries = serde_json::from_str(&before.answer).ok().and_then(|answer| run(&answer));
            return Ok(Answer { json: before.answer, entries });
        }
        let recorded = record(self)?;
        let ends = recorded.entries.first().zip(recorded.entries.last());
        let entries = ends.map(|(first, last)| EntryRun { first: first.id.clone(), last: last.id.seq });
        Ok(Answer { json: json(&recorded)?, entries })
    }
}

/// The entries of an answer.
fn run(answer: &serde_json::Value) -> Option<EntryRun> {
    let entries = answer.get("entries")?.as_array()?;
    let id = |entry: &serde_json::Value| entry.get("id")?.as_str()?.parse::<EntryId>().ok();
    Some(EntryRun { first: id(entries.first()?)?, last: id(entries.last()?)?.seq })
}
