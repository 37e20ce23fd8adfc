//! `cladlog calc exposure`: eight-hour time-weighted average.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::bound::keep;
use crate::cli::input::read_table;
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::conditions::exposure::{ExposureError, SILICA_ACTION_LEVEL, SILICA_LIMIT, Stint, twa8};
use crate::day::EXPOSURE;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Eight-hour time-weighted average of one person's day
#[derive(Debug, Args)]
pub struct ExposureArgs {
    /// CSV with the columns level and minutes, one stretch of the day a row; a column task is allowed
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Keep it in the job's record as today's respirable silica in µg/m³: it is told with the caution about dust
    #[arg(long)]
    keep: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input, named with its line.
pub fn run(args: &ExposureArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let rows = read_table(&args.file, &["level", "minutes"], &["task"])?;
    let mut stints = Vec::with_capacity(rows.len());
    for row in &rows {
        let number = |column: &str| match row.text(column) {
            "" => Err(row.error(format!("{column} is blank"))),
            text => parse_decimal(text).map_err(|error| row.error(format!("{column}: {error}"))),
        };
        stints.push(Stint { level: number("level")?, minutes: number("minutes")? });
    }
    let average = twa8(&stints).map_err(|error| match &error {
        ExposureError::Level { row, .. }
        | ExposureError::Minutes { row, .. }
        | ExposureError::LongerThanADay { row, .. }
        | ExposureError::Limit { row, .. } => match rows.get(row.saturating_sub(1)) {
            Some(line) => line.error(&error),
            None => Failure::input(&error),
        },
        ExposureError::Empty => Failure::input(&error),
    })?;
    if args.keep {
        let inputs: Vec<_> = stints.iter().map(|s| json!({ "level": s.level, "minutes": s.minutes })).collect();
        keep(site, EXPOSURE, "job", &inputs, &json!({ "twa8": average }), out)?;
    }
    if out.is_json() {
        return out.json(&json!({ "twa8": average }));
    }
    let minutes: f64 = stints.iter().map(|stint| stint.minutes).sum();
    out.line(format!("Average over eight hours  {}, in the unit of the levels", show(average)))?;
    out.line(format!(
        "From {} min in {} rows (29 CFR 1910.1000(d); always divided by 480).",
        show(minutes),
        stints.len()
    ))?;
    out.line(format!(
        "Silica in µg/m³: act from {}, limit {} (29 CFR 1926.1153). Follow local law.",
        show(SILICA_ACTION_LEVEL),
        show(SILICA_LIMIT)
    ))
}
