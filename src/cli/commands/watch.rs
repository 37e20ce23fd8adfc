//! `cladlog watch`: every running window, live.

use clap::Args;

use super::window;
use crate::cli::site::Site;
use crate::cli::{Failure, Out};

/// Keep every running window on screen
#[derive(Debug, Args)]
pub struct WatchArgs {
    /// Print the windows once and end
    #[arg(long)]
    once: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(_args: &WatchArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    window::list(site, out)
}
