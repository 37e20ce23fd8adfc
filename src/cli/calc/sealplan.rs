//! `cladlog calc sealplan`.

use std::path::PathBuf;
use std::time::Instant;

use clap::Args;

use crate::cli::commands::sealplan::{self, PATIENCE};
use crate::cli::site::Site;
use crate::cli::{Failure, Out, input};
use crate::day::Timetable;
use crate::sealing::plan::{Effort, Labels, drawing, plan, read_toml};

/// Timetable for the sealing day: every joint that gets primed is sealed inside its window
#[derive(Debug, Args)]
#[command(after_help = "\
The file gives from, until, crew (2 where not given), tape_off_within_min, [window], [rates], rain, \
[[wall]] with sun, and [[joint]]. Joints that don't fit are left unprimed and named. Without a file the day is the \
job's, as cladlog sealplan plans it.")]
pub struct SealplanFileArgs {
    /// The day as a TOML file; without it the day is the job's
    #[arg(conflicts_with_all = ["keep", "wall", "on", "from", "until", "crew"])]
    file: Option<PathBuf>,
    #[command(flatten)]
    of_job: sealplan::SealplanArgs,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input with its line, or a drawing that can't be written.
pub fn run(args: &SealplanFileArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let SealplanFileArgs { file, of_job } = args;
    let Some(file) = file else { return sealplan::run(of_job, site, out) };
    let day = read_toml(&input::read_text(file)?).map_err(|mistakes| input::mistakes_in(file, &mistakes))?;
    let begun = Instant::now();
    let plan = plan(&day, Effort::default(), &mut || begun.elapsed() > PATIENCE);
    if let Some(file) = &of_job.drawing {
        of_job.over.write(file, drawing(&day, &plan, &Labels::default()).as_bytes())?;
    }
    let timetable = Timetable::of(&day, &plan);
    if out.is_json() { out.json(&timetable) } else { sealplan::print(&day, &plan, &timetable, out) }
}
