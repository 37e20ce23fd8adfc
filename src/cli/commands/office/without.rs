//! `cladlog office` in a build without the feature.

use std::ffi::OsString;

use clap::Args;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;

/// The records of many crews on one PostgreSQL (needs a build with the feature office)
#[derive(Debug, Args)]
pub struct OfficeArgs {
    #[arg(hide = true, trailing_var_arg = true, allow_hyphen_values = true)]
    words: Vec<OsString>,
}

pub fn run(_: &OfficeArgs, _: &Site<'_>, _: &mut Out) -> Result<(), Failure> {
    Err(Failure::input_hint(
        "this cladlog was built without the office",
        "build one that has it, in the folder of the source: cargo build --release --features office",
    ))
}
