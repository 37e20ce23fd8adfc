//! From the words of a command line to the command, and from its failure to an exit code.

use std::ffi::OsString;
use std::process::ExitCode;

use clap::builder::Str;
use clap::{Arg, CommandFactory, FromArgMatches, Parser, Subcommand};

use super::calc::{self, CalcCommand};
use super::clock::Clock;
use super::commands::{
    alarms, attach, backup, batch, caution, claim, completions, confirm, day, defect, demo, extra, forecast, hold,
    hours, job, log, merge, next, office, pace, pack, photo, record, restore, sealplan, sequence, serve, stamp, stock,
    stoppage, strike, undo, verify, walk, watch, window,
};
use super::failure::{Failure, refusal_lines};
use super::help;
use super::options::{Colour, Global};
use super::out::{Out, TERMINAL_WIDTH, colour_wanted, wrapped};
use super::site::Site;
use crate::plain::is_hidden;
use crate::record::{AddNote, TakeReading};

/// Site-day workflow and quality log for cladding crews
#[derive(Debug, Parser)]
#[command(name = "cladlog", version, max_term_width = TERMINAL_WIDTH, after_help = EXITS, arg_required_else_help = true)]
struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Command,
}

const EXITS: &str = "Exit: 0 done; 1 refused by a rule, or the answer is no; 2 bad input; 3 the machine failed.";

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::DemoArgs),
    #[command(subcommand)]
    Job(job::JobCommand),
    #[command(subcommand)]
    Day(day::DayCommand),
    Walk(walk::WalkArgs),
    Next(next::NextArgs),
    Record(record::RecordArgs),
    #[command(subcommand)]
    Caution(caution::CautionCommand),
    /// Record site conditions on a wall
    Reading(TakeReading),
    #[command(subcommand)]
    Forecast(forecast::ForecastCommand),
    Sealplan(sealplan::SealplanArgs),
    #[command(subcommand)]
    Hold(hold::HoldCommand),
    #[command(subcommand)]
    Confirm(confirm::ConfirmCommand),
    #[command(subcommand)]
    Stamp(stamp::StampCommand),
    #[command(subcommand)]
    Window(window::WindowCommand),
    Watch(watch::WatchArgs),
    Alarms(alarms::AlarmsArgs),
    #[command(subcommand)]
    Defect(defect::DefectCommand),
    Strike(strike::StrikeArgs),
    Undo(undo::UndoArgs),
    #[command(subcommand)]
    Stoppage(stoppage::StoppageCommand),
    #[command(subcommand)]
    Extra(extra::ExtraCommand),
    Hours(hours::HoursArgs),
    Pace(pace::PaceArgs),
    Claim(claim::ClaimArgs),
    /// Record a note on a subject
    Note(AddNote),
    #[command(subcommand)]
    Photo(photo::PhotoCommand),
    #[command(subcommand)]
    Batch(batch::BatchCommand),
    Stock(stock::StockArgs),
    Log(log::LogArgs),
    Serve(serve::ServeArgs),
    #[command(subcommand)]
    Sequence(sequence::SequenceCommand),
    Pack(pack::PackArgs),
    Verify(verify::VerifyArgs),
    /// Rebuild the read tables of the database from its entries
    Rebuild,
    Attach(attach::AttachArgs),
    Backup(backup::BackupArgs),
    Restore(restore::RestoreArgs),
    Export(backup::ExportArgs),
    Merge(merge::MergeArgs),
    Office(office::OfficeArgs),
    /// Do the sums of the trade, from a file, from the job, or for the record
    #[command(subcommand)]
    Calc(CalcCommand),
    Completions(completions::CompletionsArgs),
    Manual(completions::ManualArgs),
}

/// Parses the arguments, runs the command and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let mut program = program();
    // Options may stand before it, a command may not.
    if let [_, before @ .., first, second] = args.as_slice()
        && first == "help"
        && second == "all"
        && before.iter().all(|word| word.to_str().is_none_or(|word| program.find_subcommand(word).is_none()))
    {
        // A closed pipe is not a crash.
        let _ = Out::process(false, false).line(help::all(&program));
        return ExitCode::SUCCESS;
    }
    let parsed = program.try_get_matches_from_mut(&args).and_then(|matches| Cli::from_arg_matches(&matches));
    let cli = match parsed {
        Ok(cli) => cli,
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // Help goes to stdout, errors to stderr; a closed pipe is not a crash.
            let _ = help::with_plain_usage(error, &mut program, &args).print();
            return ExitCode::from(code);
        }
    };
    let colour = colour_wanted(match cli.global.color {
        Colour::Auto => None,
        Colour::Always => Some(true),
        Colour::Never => Some(false),
    });
    let mut out = Out::process(cli.global.json, colour);
    let result = refuse_control_characters(&args)
        .and_then(|()| Clock::from_environment())
        .and_then(|clock| dispatch(&cli, clock, &mut out));
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            report(&failure, &mut out);
            ExitCode::from(failure.exit_code())
        }
    }
}

/// The commands and their options.
pub fn program() -> clap::Command {
    let program = with_free_text(Cli::command());
    let short = help::short(&program);
    program.override_help(short)
}

/// The names of values that are free text.
const FREE_TEXT: [&str; 4] = ["TEXT", "LABEL", "REPLY", "WHAT"];

fn is_free_text(arg: &Arg) -> bool {
    let is_named = |names: &[Str]| names.iter().any(|name| FREE_TEXT.contains(&name.as_str()));
    arg.get_action().takes_values() && arg.get_value_names().is_some_and(is_named)
}

/// Lets free text begin with a hyphen, as in a list or `-3 mm`.
fn with_free_text(command: clap::Command) -> clap::Command {
    let free = |arg: Arg| match is_free_text(&arg) {
        true => arg.allow_hyphen_values(true).value_parser(free_text),
        false => arg,
    };
    command.mut_args(free).mut_subcommands(with_free_text)
}

/// Where the text was forgotten, the option behind it is not taken for it.
fn free_text(text: &str) -> Result<String, &'static str> {
    let option = text.strip_prefix("--").filter(|name| name.starts_with(|c: char| c.is_ascii_lowercase()));
    let is_option = option.is_some_and(|name| name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'));
    if is_option { Err("this is an option: type the text before it") } else { Ok(text.to_owned()) }
}

/// Runs a command that the program gives itself.
fn run_words(words: Vec<OsString>, clock: Clock, out: &mut Out) -> Result<(), Failure> {
    let matches = with_free_text(Cli::command()).try_get_matches_from(words);
    let cli = matches.and_then(|matches| Cli::from_arg_matches(&matches));
    let cli = cli.map_err(|error| Failure::input(error.render()))?;
    dispatch(&cli, clock, out)
}

fn dispatch(cli: &Cli, clock: Clock, out: &mut Out) -> Result<(), Failure> {
    let site = Site::new(&cli.global, clock);
    match &cli.command {
        Command::Demo(args) => demo::run(args, run_words, out),
        Command::Job(command) => job::run(command, &site, out),
        Command::Day(command) => day::run(command, &site, out),
        Command::Walk(args) => walk::run(args, &site, out),
        Command::Next(args) => next::run(args, &site, out),
        Command::Record(args) => record::run(args, &site, out),
        Command::Caution(command) => caution::run(command, &site, out),
        Command::Reading(request) => site.record_and_print(request, out),
        Command::Forecast(command) => forecast::run(command, &site, out),
        Command::Sealplan(args) => sealplan::run(args, &site, out),
        Command::Hold(command) => hold::run(command, &site, out),
        Command::Confirm(command) => confirm::run(command, &site, out),
        Command::Stamp(command) => stamp::run(command, &site, out),
        Command::Window(command) => window::run(command, &site, out),
        Command::Alarms(args) => alarms::run(args, &site, out),
        Command::Watch(args) => watch::run(args, &site, out),
        Command::Defect(command) => defect::run(command, &site, out),
        Command::Strike(args) => strike::run(args, &site, out),
        Command::Undo(args) => undo::run(args, &site, out),
        Command::Stoppage(command) => stoppage::run(command, &site, out),
        Command::Extra(command) => extra::run(command, &site, out),
        Command::Hours(args) => hours::run(args, &site, out),
        Command::Pace(args) => pace::run(args, &site, out),
        Command::Claim(args) => claim::run(args, &site, out),
        Command::Note(request) => site.record_and_print(request, out),
        Command::Photo(command) => photo::run(command, &site, out),
        Command::Batch(command) => batch::run(command, &site, out),
        Command::Stock(args) => stock::run(args, &site, out),
        Command::Log(args) => log::run(args, &site, out),
        Command::Serve(args) => serve::run(args, &site, out),
        Command::Sequence(command) => sequence::run(command, &site, out),
        Command::Pack(args) => pack::run(args, &site, out),
        Command::Verify(args) => verify::run(args, &site, out),
        Command::Rebuild => verify::rebuild(&site, out),
        Command::Attach(args) => attach::run(args, &site, out),
        Command::Backup(args) => backup::backup(args, &site, out),
        Command::Restore(args) => restore::run(args, &site, out),
        Command::Export(args) => backup::export(args, &site, out),
        Command::Merge(args) => merge::run(args, &site, out),
        Command::Office(args) => office::run(args, &site, out),
        Command::Calc(command) => calc::run(command, &site, out),
        Command::Completions(args) => completions::completions(args, Cli::command(), out),
        Command::Manual(args) => completions::manual(args, Cli::command(), out),
    }
}

/// Control characters don't belong in what is recorded; tab and newline may be in notes and reasons.
fn refuse_control_characters(args: &[OsString]) -> Result<(), Failure> {
    const PROSE: [&str; 3] = ["--why", "--note", "--text"];
    let mut before = "";
    for arg in args.iter().filter_map(|arg| arg.to_str()) {
        let prose = PROSE.contains(&before) || PROSE.iter().any(|flag| arg.starts_with(&format!("{flag}=")));
        // What is not seen is shown as such wherever prose is shown.
        let refused = |c: &char| if prose { c.is_control() && !matches!(c, '\n' | '\t') } else { is_hidden(*c) };
        if let Some(found) = arg.chars().find(refused) {
            let shown = crate::units::number::shortened(&arg.escape_debug().to_string());
            let what = if found.is_control() { "a control character" } else { "a character that can't be seen" };
            return Err(Failure::input(format!("'{shown}' has {what} in it: nothing was written")));
        }
        before = arg;
    }
    Ok(())
}

/// Tells the person why it failed; a refusal also as JSON, where JSON was asked for.
fn report(failure: &Failure, out: &mut Out) {
    match failure {
        Failure::Refused(refusal) => {
            if out.is_json() {
                // If stdout is gone there is nobody left to tell.
                let _ = out.json(&serde_json::json!({ "refused": refusal }));
            }
            for line in refusal_lines(refusal) {
                out.say(wrapped(&line, 10));
            }
        }
        Failure::InFile(mistakes) => out.message(mistakes),
        Failure::Cancelled => out.say(format!("cladlog: {failure}")),
        Failure::AnswerNo | Failure::PipeClosed => {}
        Failure::Input { what, hint } | Failure::Machine { what, hint } => {
            out.message(&format!("cladlog: {what}"));
            if let Some(hint) = hint {
                out.message(&format!("  {hint}"));
            }
        }
    }
}
