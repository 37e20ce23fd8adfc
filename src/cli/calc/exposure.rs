//! `cladlog calc exposure`.

use clap::Args;
use serde_json::json;

use super::outcome::Outcome;
use super::rows::RowsArgs;
use crate::cli::failure::Failure;
use crate::conditions::exposure::{Exposure, Judged, Stint, twa8};
use crate::form::{Columns, Row, Rows};
use crate::plain::count;
use crate::units::number::{show, show_beside};
use crate::units::parse_decimal;

const COLUMNS: Columns = Columns { required: &["level", "minutes"], optional: &["task"] };

/// Eight-hour time-weighted average of one person's day
#[derive(Debug, Args)]
#[command(mut_arg("rows", |rows| rows.value_name(COLUMNS.listed())), after_help = "\
A row is one stretch of the day: the level in the air, in any one unit, and for how many minutes. The average is \
Σ level × minutes / 480, however long the day was (29 CFR 1910.1000(d)). It is judged only against a limit that you \
give, with the paper that it is from.

Example: cladlog calc exposure --row 180,90 --row 10,390
           --limit 50 --action 25 --basis \"29 CFR 1926.1153\"")]
pub struct ExposureArgs {
    #[command(flatten)]
    rows: RowsArgs,
    /// A level instead of rows; give --at-level and --minutes again for each stretch
    #[arg(long, value_name = "LEVEL", value_parser = parse_decimal, conflicts_with_all = ["file", "rows"])]
    at_level: Vec<f64>,
    /// The minutes at that level
    #[arg(long, value_name = "MIN", value_parser = parse_decimal, requires = "at_level")]
    minutes: Vec<f64>,
    /// The limit on the average, in the unit of the levels
    #[arg(long, value_name = "LEVEL", value_parser = parse_decimal, requires = "basis")]
    limit: Option<f64>,
    /// The action level, in the unit of the levels
    #[arg(long, value_name = "LEVEL", value_parser = parse_decimal, requires = "basis")]
    action: Option<f64>,
    /// Document and clause that the limit and the action level come from
    #[arg(long, value_name = "TEXT")]
    basis: Option<String>,
    /// Keep it in the job's record as today's respirable silica, in µg/m³
    #[arg(long)]
    keep: bool,
}

pub fn exposure(args: &ExposureArgs) -> Result<Outcome, Failure> {
    let rows = stints(args)?;
    let twa8 = twa8(&rows.values).map_err(|error| Failure::input(rows.mistake(&error)))?;
    let exposure = Exposure::of(twa8, args.limit, args.action, args.basis.as_deref());
    let judged = exposure.judged.as_ref().map(Judged::in_words);
    let minutes: f64 = rows.values.iter().map(|stint| stint.minutes).sum();
    let (minutes, rows_in_words) = (show(minutes), count(rows.values.len(), "row"));
    // What is over a limit by a hair does not read as on it.
    let average = args.limit.into_iter().chain(args.action).map(|bound| show_beside(twa8, bound));
    let average = average.max_by_key(String::len).unwrap_or_else(|| show(twa8));
    let text = format!(
        "8-hour average  {average}, in the same unit as the levels\n{minutes} min in {rows_in_words}, divided by 480 min\n\
         {}.",
        judged.as_deref().unwrap_or("No limit was given, so it is not judged")
    );
    let inputs: Vec<_> = rows.values.iter().map(|s| json!({ "level": s.level, "minutes": s.minutes })).collect();
    Outcome::new(&exposure, text)?.keep_for(args.keep.then_some("job"), &inputs, &exposure)
}

fn stints(args: &ExposureArgs) -> Result<Rows<Stint>, Failure> {
    if args.at_level.is_empty() {
        let stint = |row: &Row<'_>| Ok(Stint { level: row.number("level")?, minutes: row.number("minutes")? });
        return args.rows.read(&COLUMNS, stint);
    }
    let (levels, minutes) = (args.at_level.len(), args.minutes.len());
    if levels != minutes {
        return Err(Failure::input(format!(
            "--at-level is given {} and --minutes {}: each level needs its minutes",
            count(levels, "time"),
            count(minutes, "time")
        )));
    }
    let stints = args.at_level.iter().zip(&args.minutes);
    Ok(Rows::new(stints.map(|(level, minutes)| Stint { level: *level, minutes: *minutes }).collect(), Vec::new()))
}
