//! `cladlog calc exposure`.

use clap::Args;
use serde::Serialize;
use serde_json::json;

use super::outcome::{Outcome, counted};
use super::rows::RowsArgs;
use crate::cli::failure::Failure;
use crate::conditions::exposure::{ExposureError, Stint, twa8};
use crate::day::EXPOSURE;
use crate::form::{Columns, Row, Rows};
use crate::units::number::show;
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
    /// The paper that limit and action level are from, with its clause
    #[arg(long, value_name = "TEXT")]
    basis: Option<String>,
    /// Keep it in the job's record as today's respirable silica, in µg/m³
    #[arg(long)]
    keep: bool,
}

#[derive(Serialize)]
struct Answer<'a> {
    twa8: f64,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    judged: Option<Judged<'a>>,
}

/// Against the limits that were given.
#[derive(Serialize)]
struct Judged<'a> {
    verdict: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    action: Option<f64>,
    basis: &'a str,
}

pub fn exposure(args: &ExposureArgs) -> Result<Outcome, Failure> {
    let rows = stints(args)?;
    let twa8 = twa8(&rows.values).map_err(|error| {
        let row = match &error {
            ExposureError::Level { row, .. }
            | ExposureError::Minutes { row, .. }
            | ExposureError::LongerThanADay { row, .. }
            | ExposureError::Limit { row, .. } => Some(*row),
            ExposureError::Empty => None,
        };
        Failure::input(rows.mistake(row, error))
    })?;
    let minutes: f64 = rows.values.iter().map(|stint| stint.minutes).sum();
    let (average, minutes, rows_in_words) = (show(twa8), show(minutes), counted(rows.values.len(), "row"));
    let mut text = format!(
        "Average over eight hours  {average}, in the unit of the levels\n\
         From {minutes} min in {rows_in_words}; always divided by 480.\n"
    );
    let judged = args.basis.as_deref().filter(|_| args.limit.or(args.action).is_some()).map(|basis| {
        let (verdict, words) = match (args.limit, args.action) {
            (Some(limit), _) if twa8 > limit => ("over-limit", "OVER THE LIMIT"),
            (_, Some(action)) if twa8 >= action => ("at-action-level", "AT OR OVER THE ACTION LEVEL"),
            _ => ("below", "Below"),
        };
        let bounds = [("limit", args.limit), ("action level", args.action)];
        let bounds = bounds.into_iter().filter_map(|(name, bound)| Some(format!("{name} {}", show(bound?))));
        text += &format!("{words}: {} ({basis}).", bounds.collect::<Vec<_>>().join(", "));
        Judged { verdict, limit: args.limit, action: args.action, basis }
    });
    if judged.is_none() {
        text += "No limit was given, so it is not judged.";
    }
    let inputs: Vec<_> = rows.values.iter().map(|s| json!({ "level": s.level, "minutes": s.minutes })).collect();
    let on = args.keep.then_some("job");
    Outcome::new(&Answer { twa8, judged }, text)?.keep(on, EXPOSURE, &inputs, &json!({ "twa8": twa8 }))
}

fn stints(args: &ExposureArgs) -> Result<Rows<Stint>, Failure> {
    if args.at_level.is_empty() {
        let stint = |row: &Row<'_>| Ok(Stint { level: row.number("level")?, minutes: row.number("minutes")? });
        return args.rows.read(&COLUMNS, stint);
    }
    let (levels, minutes) = (args.at_level.len(), args.minutes.len());
    if levels != minutes {
        return Err(Failure::input(format!("--at-level is given {levels} times and --minutes {minutes} times")));
    }
    let stints = args.at_level.iter().zip(&args.minutes);
    Ok(Rows::new(stints.map(|(level, minutes)| Stint { level: *level, minutes: *minutes }).collect(), Vec::new()))
}
