//! `cladlog walk`: through the site day, question by question.

use std::io::IsTerminal;

use clap::Args;

use crate::cli::site::Site;
use crate::cli::walk::Walk;
use crate::cli::{Failure, Out};

/// Be taken through the day: the most urgent thing first, and why
#[derive(Debug, Args)]
#[command(after_help = "At any question ? lists what else can be typed. Leaving and coming back loses nothing.")]
pub struct WalkArgs {}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(_args: &WalkArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        return Err(Failure::input_hint("walk talks with a person: it has no --json", FLAGS));
    }
    if !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        return Err(Failure::input_hint("there is no terminal to walk through the day on", FLAGS));
    }
    Walk::begin(site, out)?.go()
}

/// The way to do the same without questions.
const FLAGS: &str = "see what is next with cladlog next; record it with \
                     cladlog record STEP --on SUBJECT --answer KEY=VALUE";
