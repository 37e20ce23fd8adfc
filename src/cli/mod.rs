//! Everything a person or a script sees: arguments, one file a command, prompts, tables.

pub mod calc;
mod failure;
pub mod input;
mod out;

pub use failure::Failure;
pub use out::{COLUMNS, Out, table_text, visible};

use std::ffi::OsString;
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

/// Site-day workflow and quality log for cladding crews
#[derive(Debug, Parser)]
#[command(name = "cladlog", version, max_term_width = 80)]
pub struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Command,
}

/// Options that every command takes
#[derive(Debug, clap::Args)]
pub struct Global {
    /// Print one JSON document instead of text for a person
    #[arg(long, global = true)]
    pub json: bool,
    /// When to use colour
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto)]
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
    /// The sums, standalone
    #[command(subcommand)]
    Calc(calc::CalcCommand),
}

/// Parses the arguments, runs the command and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
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
    let result = match &cli.command {
        Command::Calc(command) => calc::run(command, &mut out),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            report(&failure, &mut out);
            ExitCode::from(failure.exit_code())
        }
    }
}

/// Says a failure to the person; a refusal also as JSON, where JSON was asked for.
fn report(failure: &Failure, out: &mut Out) {
    match failure {
        Failure::Refused(refusal) => {
            if out.is_json() {
                // If stdout is gone there is nobody left to tell.
                let _ = out.json(&serde_json::json!({ "refused": refusal }));
            }
            out.say(format!("Stopped by {}: {}.", refusal.rule, refusal.what));
            out.say(format!("  Why:    {}", refusal.why));
            out.say(format!("  Clears: {}", refusal.clears));
        }
        Failure::No | Failure::PipeClosed => {}
        Failure::Input { what, mend } | Failure::Machine { what, mend } => {
            out.say(format!("cladlog: {what}"));
            if let Some(mend) = mend {
                out.say(format!("  {mend}"));
            }
        }
    }
}
