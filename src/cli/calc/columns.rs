//! `cladlog calc columns`.

use clap::Args;

use crate::cli::{Failure, Out};

/// TODO by its builder
#[derive(Debug, Args)]
pub struct ColumnsArgs {}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input, or an answer that is no.
pub fn run(_args: &ColumnsArgs, _out: &mut Out) -> Result<(), Failure> {
    Err(Failure::input("not built yet"))
}
