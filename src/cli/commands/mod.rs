//! One file a command; those whose arguments are the request itself have none.

use clap::Args;

pub mod alarms;
pub mod attach;
pub mod backup;
pub mod batch;
pub mod caution;
pub mod claim;
pub mod completions;
pub mod confirm;
pub mod day;
pub mod defect;
pub mod demo;
pub mod extra;
pub mod forecast;
pub mod hold;
pub mod hours;
pub mod job;
pub mod log;
pub mod merge;
pub mod next;
pub mod office;
pub mod pace;
pub mod pack;
pub mod photo;
pub mod record;
pub mod restore;
pub mod sealplan;
pub mod sequence;
pub mod serve;
pub mod stamp;
pub mod stock;
pub mod stoppage;
pub mod strike;
pub mod undo;
pub mod verify;
pub mod walk;
pub mod watch;
pub mod window;

/// Recording what a rule stops.
#[derive(Debug, Args)]
pub struct Anyway {
    /// Record it although a rule stops it: it opens a defect
    #[arg(long, requires = "why")]
    pub anyway: bool,
    /// Why it is recorded anyway
    #[arg(long, value_name = "TEXT", requires = "anyway")]
    pub why: Option<String>,
}
