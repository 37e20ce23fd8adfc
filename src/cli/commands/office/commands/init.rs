//! `cladlog office init`.

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::office::{Server, migrate};

/// Make the tables and the roles crew and office, or bring them up to date
#[derive(Debug, Args)]
pub struct InitArgs {}

pub fn run(_: &InitArgs, mut server: Server, out: &mut Out) -> Result<(), Failure> {
    let migrated = migrate(&mut server)?;
    if out.is_json() {
        return out.json(&migrated);
    }
    out.line(match migrated.applied {
        0 => format!("Nothing to do: the tables are of version {}.", migrated.version),
        _ => format!("Brought the tables to version {}.", migrated.version),
    })
}
