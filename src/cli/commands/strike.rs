//! `cladlog strike`: cross an entry out, or a run of them, with the reason; both stay readable.

use std::io::IsTerminal;
use std::str::FromStr;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::site::{Site, print};
use crate::day::{Book, Request};
use crate::record::{EntryId, IdError, Strike};

/// Cross an entry out, or a run of them, with the reason; both stay readable
#[derive(Debug, Args)]
pub struct StrikeArgs {
    /// Id of the entry, or of the first and the last of a run: leasbook-3..7
    #[arg(value_name = "ENTRY")]
    entries: Run,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: String,
    /// Even if later entries depend on it: each of them becomes a defect
    #[arg(long)]
    anyway: bool,
}

/// Entries of one device, from the first to the last.
#[derive(Debug, Clone)]
struct Run {
    first: EntryId,
    last: EntryId,
}

impl FromStr for Run {
    type Err = String;

    /// `leasbook-3`, `leasbook-3..leasbook-7` or `leasbook-3..7`.
    fn from_str(text: &str) -> Result<Self, String> {
        let id = |text: &str| text.parse().map_err(|error: IdError| error.to_string());
        let Some((first, last)) = text.split_once("..") else {
            let only: EntryId = id(text)?;
            return Ok(Self { first: only.clone(), last: only });
        };
        let first: EntryId = id(first)?;
        let last = match last.parse() {
            Ok(seq) => EntryId { seq, ..first.clone() },
            Err(_) => id(last)?,
        };
        if first.device != last.device {
            return Err(format!("{first} and {last} are of two devices: strike the entries of each by themselves"));
        }
        if first.seq > last.seq {
            return Err(format!("{first} comes after {last}: type the first entry first"));
        }
        Ok(Self { first, last })
    }
}

impl Run {
    /// The entries to strike, the last first: what depends on an entry goes before it. Of a run, those that are struck
    /// already are left out.
    fn entries(&self, book: &Book) -> Vec<EntryId> {
        if self.first == self.last {
            return vec![self.first.clone()];
        }
        let device = &self.first.device;
        let in_run = |id: &EntryId| id.device == *device && (self.first.seq..=self.last.seq).contains(&id.seq);
        let entries = book.entries.iter().map(|entry| entry.id());
        let mut entries: Vec<EntryId> =
            entries.filter(|id| in_run(id) && !book.state.struck.contains_key(id)).collect();
        entries.sort_by_key(|id| std::cmp::Reverse(id.seq));
        entries
    }
}

pub fn run(args: &StrikeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let entries = args.entries.entries(journal.book());
    if entries.is_empty() {
        let Run { first, last } = &args.entries;
        return Err(Failure::input(format!("no entry from {first} to {last} is left to strike: see cladlog log")));
    }
    let recorded = unless_anyway(args.anyway, out, |anyway| {
        let strike = |entry: &EntryId| Strike { entry: entry.clone(), why: args.why.clone(), anyway };
        let strikes: Vec<Strike> = entries.iter().map(strike).collect();
        let requests: Vec<&dyn Request> = strikes.iter().map(|strike| strike as &dyn Request).collect();
        // All of them or none.
        site.record_in(&mut journal, &requests)
    })?;
    print(&recorded, journal.book(), out)
}

/// Does something that a rule may stop because later entries depend on it; a person who is there is asked whether to do
/// it anyway.
pub fn unless_anyway<T>(
    anyway: bool,
    out: &mut Out,
    mut deed: impl FnMut(bool) -> Result<T, Failure>,
) -> Result<T, Failure> {
    match deed(anyway) {
        Err(Failure::Refused(refusal)) if refusal.unless_anyway && std::io::stdin().is_terminal() && !out.is_json() => {
            out.say(&refusal.why);
            if Terminal.ask(Question::yes_no("Strike it anyway?", false))? {
                deed(true)
            } else {
                Err(Failure::Refused(refusal))
            }
        }
        other => other,
    }
}
