//! Shell completions and man pages, from the same definitions as the commands.

use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use crate::cli::{Cli, Failure, Out};

/// Print the completions for a shell
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Write the man pages into a folder
#[derive(Debug, Args)]
pub struct ManualArgs {
    /// The folder; it is made when it is not there
    folder: PathBuf,
}

/// Prints the completions.
///
/// # Errors
/// [`Failure`] when the output can't be written.
pub fn completions(args: &CompletionsArgs, out: &mut Out) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "cladlog", &mut script);
    out.raw(&script)
}

/// Writes the man pages.
///
/// # Errors
/// [`Failure`] when the folder can't be written.
pub fn manual(args: &ManualArgs, out: &mut Out) -> Result<(), Failure> {
    std::fs::create_dir_all(&args.folder)
        .and_then(|()| clap_mangen::generate_to(Cli::command(), &args.folder))
        .map_err(|error| Failure::machine(format!("{}: can't be written: {error}", args.folder.display())))?;
    out.line(format!("The man pages are in {}.", args.folder.display()))
}
