//! `cladlog note`: a remark on a subject.

use clap::Args;

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Request;

/// Note a remark on a subject
#[derive(Debug, Args)]
pub struct NoteArgs {
    /// Where
    #[arg(long, value_name = "SUBJECT", default_value = "job")]
    on: String,
    /// The remark
    #[arg(long, value_name = "TEXT")]
    text: String,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &NoteArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    if args.text.trim().is_empty() {
        return Err(Failure::input("--text is empty"));
    }
    site.record_and_tell(&Request::Note { on: args.on.clone(), text: args.text.clone() }, out)
}
