//! The help of the whole program: what a newcomer needs first, the other commands by name, everything on request.

use std::ffi::OsString;
use std::fmt::Write;

use clap::Command;
use clap::error::{ContextKind, ContextValue};

use super::out::{TERMINAL_WIDTH, broken};

/// What a newcomer needs, in the order in which they need it.
const FIRST: [&str; 9] = ["demo", "job", "day", "walk", "next", "record", "watch", "hold", "pack"];

/// The other commands.
const MORE: [(&str, &[&str]); 6] = [
    ("On site", &["serve", "caution", "reading", "defect", "photo", "note", "log", "strike", "undo"]),
    ("Sealing", &["window", "forecast", "sealplan", "alarms"]),
    ("Materials", &["batch", "stock", "calc"]),
    ("Paperwork", &["stoppage", "extra", "hours", "pace", "claim", "confirm", "stamp", "attach"]),
    ("The record", &["sequence", "verify", "export", "merge", "backup", "restore", "rebuild", "office"]),
    ("Program", &["help", "completions", "manual"]),
];

/// The help of `cladlog` alone: it fits a terminal of 24 lines.
pub fn short(program: &Command) -> String {
    let mut text = format!("{}\n\nUsage: cladlog <COMMAND> [OPTIONS]\n\n", about(program));
    for name in FIRST {
        let about = program.find_subcommand(name).map(about).unwrap_or_default();
        let _ = writeln!(text, "  {name:<8} {about}");
    }
    text.push_str("\nMore commands:\n");
    for (group, names) in MORE {
        let _ = writeln!(text, "  {group:<12} {}", names.join("  "));
    }
    text.push_str("\ncladlog help COMMAND explains one, cladlog help all lists them all.");
    text
}

/// Every command with a line, the options that all of them take, and the exit codes.
pub fn all(program: &Command) -> String {
    let mut text = format!("{}\n\nUsage: cladlog <COMMAND> [OPTIONS]\n\n", about(program));
    for command in program.get_subcommands() {
        list(command, "", &mut text);
    }
    let mut options = program.clone().override_help(None).help_template("{options}\n\n{after-help}");
    let _ = write!(text, "\nOptions of every command:\n{}", options.render_help());
    text.trim_end().to_owned()
}

/// A command that does something, or the commands below it.
fn list(command: &Command, above: &str, text: &mut String) {
    /// Where the second column begins.
    const INDENT: usize = 24;
    let name = format!("{above}{}", command.get_name());
    if command.has_subcommands() {
        return command.get_subcommands().for_each(|below| list(below, &format!("{name} "), text));
    }
    let line = format!("  {name:<width$}{}", about(command), width = INDENT - 2);
    for line in broken(&line, INDENT, TERMINAL_WIDTH) {
        let _ = writeln!(text, "{line}");
    }
}

fn about(command: &Command) -> String {
    command.get_about().map(ToString::to_string).unwrap_or_default()
}

/// Gives a message about bad arguments the usage as the command's own help has it: clap's repeats what was typed, as
/// though it were needed.
pub fn with_plain_usage(mut error: clap::Error, program: &mut Command, args: &[OsString]) -> clap::Error {
    program.build();
    let words = args.iter().skip(1).filter_map(|arg| arg.to_str());
    let command = words.fold(&*program, |command, word| command.find_subcommand(word).unwrap_or(command));
    if error.remove(ContextKind::Usage).is_some() {
        error.insert(ContextKind::Usage, ContextValue::StyledStr(command.clone().render_usage()));
    }
    error
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_command_is_named_once_in_the_short_help() {
        let mut program = crate::cli::run::program();
        program.build();
        let named: Vec<&str> =
            FIRST.into_iter().chain(MORE.into_iter().flat_map(|(_, names)| names).copied()).collect();
        let once: BTreeSet<&str> = named.iter().copied().collect();
        assert_eq!(once.len(), named.len());
        assert_eq!(once, program.get_subcommands().map(Command::get_name).collect());
    }
}
