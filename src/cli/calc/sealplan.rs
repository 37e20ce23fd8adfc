//! `cladlog calc sealplan`.

use std::path::PathBuf;
use std::time::Instant;

use clap::Args;

use crate::cli::commands::sealplan;
use crate::cli::failure::Failure;
use crate::cli::input::{mistakes_in, read_text};
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{LONGEST_SEARCH, Timetable};
use crate::form::outline;
use crate::sealing::plan::{Effort, day_form, drawing, plan, read_toml};

/// Timetable for the sealing day: every joint that gets primed is sealed inside its window
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, times with their offset, such as 2026-03-02T07:00:00+13:00:
{}

Joints that don't fit are left unprimed and named. Without FILE the day is the job's, as cladlog sealplan plans it.

Example: cladlog calc sealplan day.toml --drawing day.svg", outline(day_form)))]
pub struct SealplanFileArgs {
    /// The day, as TOML
    #[arg(conflicts_with_all = ["keep", "wall", "on", "from", "until", "crew"])]
    file: Option<PathBuf>,
    #[command(flatten)]
    of_job: sealplan::SealplanArgs,
}

/// The job's day is a command of its own, which prints and keeps by itself.
pub fn run(args: &SealplanFileArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let SealplanFileArgs { file, of_job } = args;
    let Some(file) = file else { return sealplan::run(of_job, site, out) };
    let day = read_toml(&read_text(file)?).map_err(|mistakes| mistakes_in(file, &mistakes))?;
    let begun = Instant::now();
    let plan = plan(&day, Effort::default(), &mut || begun.elapsed() > LONGEST_SEARCH);
    if let Some(file) = &of_job.drawing {
        of_job.over.write(file, drawing(&day, &plan, &[]).as_bytes())?;
    }
    let timetable = Timetable::of(&day, &plan);
    if out.is_json() { out.json(&timetable) } else { sealplan::print(&day, &plan, &timetable, out) }
}
