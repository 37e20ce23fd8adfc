//! `cladlog walk`: through the site day, question by question.

use std::io::IsTerminal;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::cli::walk::Walk;

/// Go through the day step by step, most urgent first
#[derive(Debug, Args)]
#[command(after_help = "At any question ? lists what else you can type. Leaving and coming back loses nothing.")]
pub struct WalkArgs {
    /// The wall to stay at, such as N; without it the walk asks
    wall: Option<String>,
}

pub fn run(args: &WalkArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() {
        return Err(Failure::input_hint("walk asks questions, so it does not accept --json", FLAGS));
    }
    if !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        return Err(Failure::input_hint("there is no terminal to ask questions on", FLAGS));
    }
    if site.global.at.is_some() {
        let hint = "type 'at 10:40' at a question to record something that happened at that time";
        return Err(Failure::input_hint("walk is in the present, so it does not accept --at", hint));
    }
    Walk::begin(site, out, args.wall.as_deref())?.run()
}

/// The way to do the same without questions.
const FLAGS: &str = "see what is next with cladlog next; record it with \
                     cladlog record STEP --on SUBJECT --answer KEY=VALUE";
