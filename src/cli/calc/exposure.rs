//! `cladlog calc exposure`.

use clap::Args;

use crate::cli::{Failure, Out};

/// TODO by its builder
#[derive(Debug, Args)]
pub struct ExposureArgs {}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input, or an answer that is no.
pub fn run(_args: &ExposureArgs, _out: &mut Out) -> Result<(), Failure> {
    Err(Failure::input("not built yet"))
}
