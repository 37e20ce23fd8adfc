//! R17: what the last command of a file recorded is taken back as one.

use super::command::Command;
use super::error::JournalError;
use super::journal::{Journal, Timed};
use super::recorded::Recorded;
use crate::day::{Book, DecideError, Request};
use crate::moment::Moment;
use crate::record::{Body, CommandRow, Entry, EntryId, EntryRun, Fork, Strike, crew, forks, origin};
use crate::refusal::{Clears, Refusal, Rule};

/// What is taken back.
#[derive(Debug, Clone)]
pub struct Undo {
    /// The entries, the last first.
    pub entries: Vec<EntryId>,
    /// Why.
    pub why: String,
    /// Even if later entries depend on them: each of them becomes a defect.
    pub anyway: bool,
}

impl Journal {
    /// What the last command of this file recorded and is not struck, the last entry first. What an undo recorded is
    /// passed over: the next undo goes on to the command before. In a file that goes on in another book, as a copy does,
    /// the book before comes after its own, as far as the file held it then.
    ///
    /// # Errors
    /// [`JournalError`]: a refusal where there is none, where it set the job up, or where this file's own book forked
    /// before it and so it is not known which of the two sides is its own.
    pub fn last_command(&self) -> Result<Vec<EntryId>, JournalError> {
        self.last_command_of(None)
    }

    /// The same of what this person recorded.
    ///
    /// # Errors
    /// [`JournalError`]: a refusal where there is none.
    pub fn last_command_by(&self, person: &str) -> Result<Vec<EntryId>, JournalError> {
        self.last_command_of(Some(person))
    }

    fn last_command_of(&self, person: Option<&str>) -> Result<Vec<EntryId>, JournalError> {
        let (book, own) = (self.book(), self.job().device.as_str());
        for device in books(book, own) {
            let commands = self.store().commands(device)?;
            let held = held(book, own, device);
            let entries = book.entries.iter().filter(|entry| *entry.device == *device && entry.seq <= held);
            let undone = |entry: &&Entry| command_of(&commands, entry.seq).is_some_and(|command| command.undo);
            // That a phone was paired is no work: to end it there is a command of its own.
            let of_phones = |entry: &Entry| matches!(entry.body, Body::PhonePaired(_) | Body::PhoneForgotten(_));
            let stands = |entry: &&Entry| {
                !book.state.struck.contains_key(&entry.id())
                    && !undone(entry)
                    && !of_phones(entry)
                    && person.is_none_or(|person| entry.by == person)
            };
            let mut left: Vec<&Entry> = entries.filter(stands).collect();
            left.sort_by_key(|entry| std::cmp::Reverse(entry.seq));
            let Some(last) = left.first() else { continue };
            if matches!(last.body, Body::JobAdded(_)) {
                let why = "the last that this file recorded set the job up: without it there is no record";
                return refused(why, Clears::from("set up another job").typed(": cladlog job add FILE.toml"));
            }
            let first = command_of(&commands, last.seq).map_or(last.seq, |command| command.first);
            return Ok(left.iter().take_while(|entry| entry.seq >= first).map(|entry| entry.id()).collect());
        }
        match forks(&book.entries).iter().find(|fork| crew(&fork.book) == crew(own)) {
            Some(Fork { after, .. }) => refused(
                &format!(
                    "after entry {after} two copies of this file were used separately, and nothing in it says which of \
                     the two it was: what it recorded before they were brought together can't be told from the other's"
                ),
                Clears::from("find the entry in the log and strike it by its number").typed(": cladlog strike ENTRY"),
            ),
            None => refused(
                "nothing that was recorded in this file is left to take back",
                "to strike any entry: cladlog strike ENTRY",
            ),
        }
    }

    /// What is left of some entries that a person recorded, the last first.
    ///
    /// # Errors
    /// [`JournalError`]: a refusal where none is left, or where they are not this person's work.
    pub(super) fn left_of(&self, run: &EntryRun, person: &str) -> Result<Vec<EntryId>, JournalError> {
        let book = self.book();
        let own = |entry: &&Entry| {
            let is_work = !matches!(
                entry.body,
                Body::JobAdded(_) | Body::Struck(_) | Body::PhonePaired(_) | Body::PhoneForgotten(_)
            );
            run.contains(&entry.id()) && entry.by == person && is_work
        };
        let mut entries: Vec<EntryId> = book.entries.iter().filter(own).map(Entry::id).collect();
        if entries.is_empty() {
            return refused(&format!("{run} is not what {person} recorded"), "whoever recorded it takes it back");
        }
        entries.retain(|id| !book.state.struck.contains_key(id));
        if entries.is_empty() {
            return refused("it is already taken back", "nothing to do");
        }
        entries.sort_by_key(|id| std::cmp::Reverse(id.seq));
        Ok(entries)
    }

    /// Strikes what [`Journal::last_command`] gave, all of it, in one transaction.
    ///
    /// # Errors
    /// [`JournalError`]; nothing is recorded then.
    pub fn undo(&mut self, undo: &Undo, by: &str, at: Moment, now: Moment) -> Result<Recorded, JournalError> {
        self.undo_as(&Command { undo: true, sent: None }, undo, by, at, now)
    }

    pub(super) fn undo_as(
        &mut self,
        command: &Command<'_>,
        undo: &Undo,
        by: &str,
        at: Moment,
        now: Moment,
    ) -> Result<Recorded, JournalError> {
        let strike = |entry: &EntryId| Strike { entry: entry.clone(), why: undo.why.clone(), anyway: undo.anyway };
        let strikes: Vec<Strike> = undo.entries.iter().map(strike).collect();
        let requests: Vec<Timed<'_>> = strikes.iter().map(|strike| (strike as &dyn Request, at)).collect();
        self.record_as(command, &requests, by, now)
    }
}

fn refused<T>(why: &str, clears: impl Into<Clears>) -> Result<T, JournalError> {
    let refusal = Refusal::new(Rule::Undo, "undo", why, clears);
    Err(DecideError::from(refusal).into())
}

/// The command that recorded an entry, where it recorded more than this one or was an undo.
fn command_of(commands: &[CommandRow], seq: u64) -> Option<&CommandRow> {
    let after = commands.partition_point(|command| command.first <= seq);
    commands[..after].last().filter(|command| seq <= command.last)
}

/// The books that this file wrote: its own, then those that it goes on from, the newest first. Of books that forked it is
/// not known which side this file was.
fn books<'b>(book: &'b Book, own: &'b str) -> Vec<&'b str> {
    let forked = |device: &str| book.heads().keys().any(|other| other != origin(other) && origin(other) == device);
    let before = |device: &&str| *device != own && crew(device) == crew(own) && *device == origin(device);
    let mut before: Vec<&str> = book.heads().keys().map(String::as_str).filter(before).collect();
    before.retain(|device| !forked(device) && held(book, own, device) > 0);
    let begun = |device: &&str| book.entries.iter().find(|entry| *entry.device == **device).map(|it| it.recorded_at);
    before.sort_by_key(|device| std::cmp::Reverse(begun(device)));
    std::iter::once(own).chain(before).collect()
}

/// How far the file held a book when it began its own.
fn held(book: &Book, own: &str, device: &str) -> u64 {
    match book.entries.iter().find(|entry| *entry.device == *own) {
        Some(first) if device != own => first.seen.get(device).copied().unwrap_or(0),
        _ => u64::MAX,
    }
}
