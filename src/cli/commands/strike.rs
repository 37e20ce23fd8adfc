//! `cladlog strike`: cross an entry out, or a run of them, with the reason; both stay readable.

use std::io::IsTerminal;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::site::{Site, print};
use crate::day::{Book, Request};
use crate::record::{EntryId, EntryRun, Strike};
use crate::units::number::shortened;

/// Cross an entry out, or a run of them, with the reason; both stay readable
#[derive(Debug, Args)]
pub struct StrikeArgs {
    /// Id of the entry, or of the first and the last of a run: leasbook-3..7
    #[arg(value_name = "ENTRY")]
    entries: EntryRun,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: String,
    /// Even if later entries depend on it: each of them becomes a defect
    #[arg(long)]
    anyway: bool,
}

/// The entries to strike, the last first: what depends on an entry goes before it. Of a run, those that are struck already
/// are left out.
fn to_strike(run: &EntryRun, book: &Book) -> Vec<EntryId> {
    if run.first.seq == run.last {
        return vec![run.first.clone()];
    }
    let entries = book.entries.iter().map(|entry| entry.id());
    let mut entries: Vec<EntryId> =
        entries.filter(|id| run.contains(id) && !book.state.struck.contains_key(id)).collect();
    entries.sort_by_key(|id| std::cmp::Reverse(id.seq));
    entries
}

pub fn run(args: &StrikeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let EntryRun { first, last } = &args.entries;
    let ends = [first.clone(), EntryId { seq: *last, ..first.clone() }];
    // A run that ends too late was mistyped: it may hold far more than was meant.
    if let Some(none) = ends.iter().find(|id| journal.book().entry(id).is_none()) {
        return Err(Failure::input(format!("there is no entry '{}': see cladlog log", shortened(&none.to_string()))));
    }
    let entries = to_strike(&args.entries, journal.book());
    if entries.is_empty() {
        return Err(Failure::input(format!("no entry of {} is left to strike: see cladlog log", args.entries)));
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
