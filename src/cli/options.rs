//! The options that every command takes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Options that every command takes
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Options of every command")]
pub struct Global {
    /// The database [default: in the platform's data folder]
    #[arg(long, global = true, value_name = "FILE", env = "CLADLOG_DB", hide_env_values = true)]
    pub db: Option<PathBuf>,
    /// Which job, if the database holds several
    #[arg(long, global = true, value_name = "KEY", env = "CLADLOG_JOB", hide_env_values = true)]
    pub job: Option<String>,
    /// Who records it [default: the only crew lead]
    #[arg(long, global = true, value_name = "NAME", env = "CLADLOG_BY", hide_env_values = true)]
    pub by: Option<String>,
    /// When it happened, or the moment to answer for: 10:40, or an RFC 3339 time [default: now]
    #[arg(long, global = true, value_name = "TIME")]
    pub at: Option<String>,
    /// The clock is right, although nothing was recorded for weeks
    #[arg(long, global = true)]
    pub clock_is_right: bool,
    /// Print one JSON document, for other programs
    #[arg(long, global = true)]
    pub json: bool,
    /// When to use colour: auto, always, never
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = Colour::Auto)]
    #[arg(hide_possible_values = true)]
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
