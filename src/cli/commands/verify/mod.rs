//! `cladlog verify` and `cladlog rebuild`.

pub(super) mod database;
mod held;
mod pack;

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use self::database::database;
use self::held::{HeadCode, hold_against};
use self::pack::{is_pack, pack, pdf, pdf_of};
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::handover::{Checked, Verified, is_rehearsal_key};
use crate::plain::count;
use crate::record::Store;

/// Check a pack, a handover.pdf or a database: hashes, chains, and whether everything agrees
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// A pack (folder or zip), its handover.pdf, or a database; the database in use when left out
    path: Option<PathBuf>,
    /// A head code from an evening report: some entry must have that number and hash
    #[arg(long, value_name = "CODE")]
    head: Vec<HeadCode>,
    /// An earlier pack, export or database: all that it holds must still be there, unchanged
    #[arg(long, value_name = "FILE")]
    against: Vec<PathBuf>,
}

pub fn run(args: &VerifyArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let path = match &args.path {
        Some(path) if !path.exists() => {
            return Err(Failure::input(format!("{}: there is no such file or folder", path.display())));
        }
        Some(path) => path.clone(),
        None => site.database()?,
    };
    let mut verified = match pdf_of(&path)? {
        Some(bytes) => pdf(&path, &bytes)?,
        None if is_pack(&path) => pack(&path)?,
        None => database(&path)?,
    };
    if !args.head.is_empty() || !args.against.is_empty() {
        hold_against(&path, &args.head, &args.against, &mut verified)?;
    }
    print(&verified, &path.display().to_string(), out)
}

/// What was found, as JSON has it.
#[derive(Serialize)]
struct Answer<'v> {
    ok: bool,
    #[serde(flatten)]
    verified: &'v Verified,
    /// The signature is that of the key for rehearsals, which everybody has.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    rehearsal_key: bool,
}

/// Prints what was found of a thing of this name.
pub(super) fn print(verified: &Verified, name: &str, out: &mut Out) -> Result<(), Failure> {
    let ok = verified.failures.is_empty();
    let rehearsal_key = verified.signed_by.as_deref().is_some_and(is_rehearsal_key);
    if out.is_json() {
        out.json(&Answer { ok, verified, rehearsal_key })?;
    } else {
        let Checked { entries, files } = verified.checked;
        let files = if files == 0 { String::new() } else { format!(" and {}", count(files, "file")) };
        out.line(format!("{name}: {}{files} checked.", count(entries, "entry")))?;
        for failed in &verified.failures {
            let place = match (&failed.file, &failed.entry) {
                (Some(file), Some(entry)) => format!("{file}, entry {entry}"),
                (Some(file), None) => file.clone(),
                (None, Some(entry)) => format!("entry {entry}"),
                (None, None) => "the file".to_owned(),
            };
            out.line(format!("  FAILS {place}: {}", failed.what))?;
        }
        match &verified.signed_by {
            Some(_) if rehearsal_key => {
                out.line("Signed with the public rehearsal key: the signature is not evidence.")?;
            }
            Some(key) => out.line(format!("Signed by the key with the fingerprint\n  {key}"))?,
            None => {}
        }
        for note in &verified.notes {
            out.line(format!("  Note: {note}."))?;
        }
        // What was put beside a pack is not part of what is signed, and may have changed.
        let beside = verified.notes.iter().any(|note| note.contains("CHANGED") || note.contains("MISSING"));
        out.line(match (ok, beside) {
            (true, false) => "Verified: everything checks out.",
            (true, true) => "Verified: all that is signed checks out; see the notes for what was attached later.",
            (false, _) => "Verification FAILED.",
        })?;
    }
    if ok { Ok(()) } else { Err(Failure::AnswerNo) }
}

/// Runs `rebuild`: writes the read tables again from the entries.
pub fn rebuild(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let jobs = crate::journal::rebuild(&mut Store::write_to(&site.database()?)?)?;
    if out.is_json() {
        return out.json(&serde_json::json!({ "jobs": jobs }));
    }
    out.line(format!("Rebuilt from the entries: the read tables of {}.", count(jobs, "job")))
}
