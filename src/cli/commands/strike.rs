//! `cladlog strike`: cross an entry out, with the reason; both stay readable.

use std::io::IsTerminal;

use clap::Args;

use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Request;
use crate::refusal::Rule;

/// Cross an entry out, with the reason; both stay readable
#[derive(Debug, Args)]
pub struct StrikeArgs {
    /// Id of the entry
    pub entry: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: String,
    /// Even if later work loses its footing: each such entry becomes a defect
    #[arg(long)]
    pub anyway: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &StrikeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let request = |anyway| Request::Strike { entry: args.entry.clone(), why: args.why.clone(), anyway };
    match site.record_and_tell(&request(args.anyway), out) {
        Err(Failure::Refused(refusal))
            if refusal.rule == Rule::R2
                && refusal.clears.contains("--anyway")
                && std::io::stdin().is_terminal()
                && !out.is_json() =>
        {
            out.say(&refusal.why);
            if Terminal.ask(Question::yes_no("Strike it anyway?", false))? {
                site.record_and_tell(&request(true), out)
            } else {
                Err(Failure::Refused(refusal))
            }
        }
        other => other,
    }
}
