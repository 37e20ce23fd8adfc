//! `cladlog extra`: work beyond what was agreed, and who asked for it.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::filters::ListArgs;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::ExtraWork;
use crate::record::AddExtra;

/// Record extra work that was asked for; list it
#[derive(Debug, Subcommand)]
pub enum ExtraCommand {
    /// Record extra work: what, and who asked for it
    Add(AddExtra),
    /// List all extra work
    List(ListArgs),
}

pub fn run(command: &ExtraCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        ExtraCommand::List(args) => list(args, site, out),
        ExtraCommand::Add(request) => site.record_and_print(request, out),
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let filter = args.filters.read(state)?;
    let is_wanted = |one: &&ExtraWork| {
        let people = [&one.by, &one.asked_by].into_iter().chain(&one.notified).map(String::as_str);
        filter.on(state, &one.subject) && filter.at(&one.at) && filter.by(people)
    };
    let extras: Vec<ExtraWork> = state.extras.iter().filter(is_wanted).cloned().collect();
    if args.csv.list("extras", &extras, out)? {
        return Ok(());
    }
    if extras.is_empty() {
        return out.line("No extra work.");
    }
    for one in &extras {
        out.wrapped(&format!("{}  {}  {}", one.at.format("%a %-d %b %H:%M"), one.subject, one.what), 4)?;
        let notified =
            if one.notified.is_empty() { String::new() } else { format!("; notified {}", one.notified.join(", ")) };
        let size = one.size();
        let size = if size.is_empty() { String::new() } else { format!("; {size}") };
        out.wrapped(&format!("    asked for by {}{notified}{size}", one.asked_by), 6)?;
        out.line(format!("    {}", one.entry))?;
    }
    Ok(())
}
