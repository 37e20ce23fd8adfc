//! Shell completions and man pages, from the same definitions as the commands.

use std::path::PathBuf;

use clap::{Args, Command};
use clap_complete::Shell;

use crate::cli::failure::Failure;
use crate::cli::files::{Overwrite, unwritten};
use crate::cli::out::Out;

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
    /// The folder; it is made if it does not exist
    folder: PathBuf,
    /// Replace the pages that are there already
    #[arg(long)]
    replace: bool,
}

pub fn completions(args: &CompletionsArgs, mut program: Command, out: &mut Out) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut program, "cladlog", &mut script);
    out.raw(&script)
}

pub fn manual(args: &ManualArgs, program: Command, out: &mut Out) -> Result<(), Failure> {
    let written = std::fs::read_dir(&args.folder).into_iter().flatten().flatten().map(|entry| entry.path());
    let is_page = |path: &PathBuf| {
        path.extension().is_some_and(|ending| ending == "1")
            && path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"cladlog"))
    };
    let over = Overwrite { replace: args.replace, ..Overwrite::default() };
    written.filter(is_page).try_for_each(|path| over.may_write(&path))?;
    std::fs::create_dir_all(&args.folder)
        .and_then(|()| clap_mangen::generate_to(program, &args.folder))
        .map_err(|error| unwritten(&args.folder, &error))?;
    out.line(format!("The man pages are in {}.", args.folder.display()))
}
