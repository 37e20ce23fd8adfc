//! Everything a person or a script sees: arguments, one file a command, prompts, tables.

pub mod calc;
mod clock;
pub mod commands;
mod crew_key;
mod failure;
pub mod files;
pub mod filters;
pub mod input;
mod interrupt;
pub mod job_files;
mod out;
pub mod photos;
pub mod prompts;
pub mod script;
pub mod site;
mod walk;

pub use crate::plain::visible;
pub use clock::Clock;
pub use failure::Failure;
pub use interrupt::Interrupt;
pub use out::{COLUMNS, Out, table_text, wrapped};

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

use commands::{
    alarms, backup, batch, caution, claim, completions, day, defect, demo, extra, forecast, hold, hours, job, log,
    merge, next, note, pace, pack, photo, reading, record, sealplan, sequence, stock, stoppage, strike, verify,
    walk as walk_command, watch, window,
};
use site::Site;

/// Site-day workflow and quality log for cladding crews
#[derive(Debug, Parser)]
#[command(name = "cladlog", version, max_term_width = 80, after_help = EXITS)]
pub struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Command,
}

const EXITS: &str = "Exit: 0 done; 1 refused by a rule, or the answer is no; 2 bad input; 3 the machine failed.";

/// Options that every command takes
#[derive(Debug, clap::Args)]
pub struct Global {
    /// The database [default: in the platform's data folder]
    #[arg(long, global = true, value_name = "FILE", env = "CLADLOG_DB", hide_env_values = true)]
    pub db: Option<PathBuf>,
    /// The job, where the database holds several
    #[arg(long, global = true, value_name = "KEY", env = "CLADLOG_JOB", hide_env_values = true)]
    pub job: Option<String>,
    /// Who records [default: the crew lead, where there is one]
    #[arg(long, global = true, value_name = "NAME", env = "CLADLOG_BY", hide_env_values = true)]
    pub by: Option<String>,
    /// When it happened, or as of when to answer: 10:40 today, or an RFC 3339 time [default: now]
    #[arg(long, global = true, value_name = "TIME")]
    pub at: Option<String>,
    /// Print one JSON document instead of text for a person
    #[arg(long, global = true)]
    pub json: bool,
    /// When to use colour
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, hide_possible_values = true)]
    pub color: Colour,
}

/// When to use colour
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Colour {
    /// When a person is looking and NO_COLOR is not set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::DemoArgs),
    #[command(subcommand)]
    Job(job::JobCommand),
    #[command(subcommand)]
    Day(day::DayCommand),
    Walk(walk_command::WalkArgs),
    Next(next::NextArgs),
    Record(record::RecordArgs),
    #[command(subcommand)]
    Caution(caution::CautionCommand),
    Reading(reading::ReadingArgs),
    #[command(subcommand)]
    Forecast(forecast::ForecastCommand),
    Sealplan(sealplan::SealplanArgs),
    #[command(subcommand)]
    Hold(hold::HoldCommand),
    #[command(subcommand)]
    Window(window::WindowCommand),
    Watch(watch::WatchArgs),
    Alarms(alarms::AlarmsArgs),
    #[command(subcommand)]
    Defect(defect::DefectCommand),
    Strike(strike::StrikeArgs),
    #[command(subcommand)]
    Stoppage(stoppage::StoppageCommand),
    #[command(subcommand)]
    Extra(extra::ExtraCommand),
    Hours(hours::HoursArgs),
    Pace(pace::PaceArgs),
    Claim(claim::ClaimArgs),
    Note(note::NoteArgs),
    #[command(subcommand)]
    Photo(photo::PhotoCommand),
    #[command(subcommand)]
    Batch(batch::BatchCommand),
    Stock(stock::StockArgs),
    Log(log::LogArgs),
    #[command(subcommand)]
    Sequence(sequence::SequenceCommand),
    Pack(pack::PackArgs),
    Verify(verify::VerifyArgs),
    /// Write the read tables of the database anew from its entries
    Rebuild,
    Backup(backup::BackupArgs),
    Export(backup::ExportArgs),
    Merge(merge::MergeArgs),
    /// The sums, standalone
    #[command(subcommand)]
    Calc(calc::CalcCommand),
    Completions(completions::CompletionsArgs),
    Manual(completions::ManualArgs),
}

/// Parses the arguments, runs the command and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let cli = match Cli::try_parse_from(&args) {
        Ok(cli) => cli,
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // Help goes to stdout, errors to stderr; a closed pipe is not a crash.
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let colour = out::colour_wanted(match cli.global.color {
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

fn dispatch(cli: &Cli, clock: Clock, out: &mut Out) -> Result<(), Failure> {
    let site = Site { global: &cli.global, clock };
    match &cli.command {
        Command::Demo(args) => demo::run(args, out),
        Command::Job(command) => job::run(command, &site, out),
        Command::Day(command) => day::run(command, &site, out),
        Command::Walk(args) => walk_command::run(args, &site, out),
        Command::Next(args) => next::run(args, &site, out),
        Command::Record(args) => record::run(args, &site, out),
        Command::Caution(command) => caution::run(command, &site, out),
        Command::Reading(args) => reading::run(args, &site, out),
        Command::Forecast(command) => forecast::run(command, &site, out),
        Command::Sealplan(args) => sealplan::run(args, &site, out),
        Command::Hold(command) => hold::run(command, &site, out),
        Command::Window(command) => window::run(command, &site, out),
        Command::Alarms(args) => alarms::run(args, &site, out),
        Command::Watch(args) => watch::run(args, &site, out),
        Command::Defect(command) => defect::run(command, &site, out),
        Command::Strike(args) => strike::run(args, &site, out),
        Command::Stoppage(command) => stoppage::run(command, &site, out),
        Command::Extra(command) => extra::run(command, &site, out),
        Command::Hours(args) => hours::run(args, &site, out),
        Command::Pace(args) => pace::run(args, &site, out),
        Command::Claim(args) => claim::run(args, &site, out),
        Command::Note(args) => note::run(args, &site, out),
        Command::Photo(command) => photo::run(command, &site, out),
        Command::Batch(command) => batch::run(command, &site, out),
        Command::Stock(args) => stock::run(args, &site, out),
        Command::Log(args) => log::run(args, &site, out),
        Command::Sequence(command) => sequence::run(command, &site, out),
        Command::Pack(args) => pack::run(args, &site, out),
        Command::Verify(args) => verify::run(args, &site, out),
        Command::Rebuild => verify::rebuild(&site, out),
        Command::Backup(args) => backup::backup(args, &site, out),
        Command::Export(args) => backup::export(args, &site, out),
        Command::Merge(args) => merge::run(args, &site, out),
        Command::Calc(command) => calc::run(command, &site, out),
        Command::Completions(args) => completions::completions(args, out),
        Command::Manual(args) => completions::manual(args, out),
    }
}

/// Control characters have no business in what is recorded; tab and newline may stand in notes and reasons.
fn refuse_control_characters(args: &[OsString]) -> Result<(), Failure> {
    const PROSE: [&str; 3] = ["--why", "--note", "--text"];
    let mut before = "";
    for arg in args.iter().filter_map(|arg| arg.to_str()) {
        let prose = PROSE.contains(&before) || PROSE.iter().any(|flag| arg.starts_with(&format!("{flag}=")));
        if arg.chars().any(|c| c.is_control() && !(prose && matches!(c, '\n' | '\t'))) {
            let shown = crate::units::number::shortened(&arg.escape_debug().to_string());
            return Err(Failure::input(format!("'{shown}' has a control character in it: nothing was written")));
        }
        before = arg;
    }
    Ok(())
}

/// Says a failure to the person; a refusal also as JSON, where JSON was asked for.
fn report(failure: &Failure, out: &mut Out) {
    match failure {
        Failure::Refused(refusal) => {
            if out.is_json() {
                // If stdout is gone there is nobody left to tell.
                let _ = out.json(&serde_json::json!({ "refused": refusal }));
            }
            for line in refused_lines(refusal) {
                out.say(wrapped(&line, 10, COLUMNS).join("\n"));
            }
        }
        Failure::Cancelled => out.say(format!("cladlog: {failure}")),
        Failure::AnswerNo | Failure::PipeClosed => {}
        Failure::Input { what, hint } | Failure::Machine { what, hint } => {
            // Mistakes in a file stand a line each, as compilers print them.
            out.tell(&if what.contains('\n') { what.clone() } else { format!("cladlog: {what}") });
            if let Some(hint) = hint {
                out.tell(&format!("  {hint}"));
            }
        }
    }
}

/// A refusal as a person reads it.
fn refused_lines(refusal: &crate::refusal::Refusal) -> [String; 3] {
    [
        format!("Stopped by {}: {}.", refusal.rule, refusal.what),
        format!("  Why:    {}", refusal.why),
        format!("  Clears: {}", refusal.clears),
    ]
}
