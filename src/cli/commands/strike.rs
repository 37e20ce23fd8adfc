//! `cladlog strike`: cross an entry out, with the reason; both stay readable.

use std::io::IsTerminal;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::site::Site;
use crate::record::Strike;
use crate::refusal::Rule;

/// Cross an entry out, with the reason; both stay readable
#[derive(Debug, Args)]
pub struct StrikeArgs {
    #[command(flatten)]
    strike: Strike,
}

pub fn run(args: &StrikeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match site.record_and_print(&args.strike, out) {
        Err(Failure::Refused(refusal))
            if refusal.rule == Rule::R2
                && refusal.clears.contains("--anyway")
                && std::io::stdin().is_terminal()
                && !out.is_json() =>
        {
            out.say(&refusal.why);
            if Terminal.ask(Question::yes_no("Strike it anyway?", false))? {
                site.record_and_print(&Strike { anyway: true, ..args.strike.clone() }, out)
            } else {
                Err(Failure::Refused(refusal))
            }
        }
        other => other,
    }
}
