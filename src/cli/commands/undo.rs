//! `cladlog undo`: strike what the last command of this file recorded, all of it.

use clap::Args;

use super::strike::unless_anyway;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::{Site, print};
use crate::journal::Undo;

/// Strike what the last command recorded in this file, all of it; given again, the command before
#[derive(Debug, Args)]
pub struct UndoArgs {
    /// Why
    #[arg(long, value_name = "TEXT", default_value = "undone")]
    why: String,
    /// Even if later entries depend on it: each of them becomes a defect
    #[arg(long)]
    anyway: bool,
}

pub fn run(args: &UndoArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let entries = journal.last_command()?;
    let now = site.now(journal.book());
    let (by, at) = (site.by(journal.book())?, site.at(journal.book(), now)?);
    let recorded = unless_anyway(args.anyway, out, |anyway| {
        let undo = Undo { entries: entries.clone(), why: args.why.clone(), anyway };
        Ok(journal.undo(&undo, &by, at, now)?)
    })?;
    print(&recorded, journal.book(), out)
}
