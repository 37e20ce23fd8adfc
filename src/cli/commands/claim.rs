//! `cladlog claim`: what is complete, by wall and stage, and what it comes to at the job's rates.

use chrono::NaiveDate;
use clap::Args;
use rust_decimal::Decimal;

use crate::accounts::claim::{ClaimError, Line};
use crate::accounts::{Claim, Period, claim};
use crate::building::Unit;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::plain::names;
use crate::table::Row;
use crate::units::number::crew_hours;

/// Show what is complete, by wall and stage, and its value at the job's rates
#[derive(Debug, Args)]
pub struct ClaimArgs {
    /// The first day of the period [default: the beginning of the job]
    #[arg(long, value_name = "DATE")]
    from: Option<NaiveDate>,
    /// The last day of the period [default: today]
    #[arg(long, value_name = "DATE")]
    until: Option<NaiveDate>,
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &ClaimArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let rates = opened.store.rates(&opened.stored.key)?;
    let period = Period { from: args.from, until: args.until };
    let claim = claim(&opened.book, &rates, period, opened.now).map_err(|error| match error {
        ClaimError::Backwards { .. } => Failure::input(error),
        ClaimError::Replay(error) => error.into(),
    })?;
    if args.csv.write(&csv(&claim), out)? {
        return Ok(());
    }
    if out.is_json() { out.json(&json(&claim)?) } else { print(&claim, &opened.book.state.job.name, out) }
}

fn json(claim: &Claim) -> Result<serde_json::Value, Failure> {
    use rust_decimal::prelude::ToPrimitive;
    let stoppages: Vec<_> = claim
        .stoppages
        .iter()
        .map(|(one, lost)| {
            serde_json::json!({
                "id": one.entry, "subject": one.subject, "cause": one.cause, "told": one.notified,
                "started_at": one.started_at.to_string(), "crew_hours_lost": lost,
            })
        })
        .collect();
    let extras: Vec<_> = claim.extras.iter().map(Row::json).collect();
    let mut value = serde_json::json!({
        "until": claim.until,
        "lines": serde_json::to_value(&claim.lines).map_err(Failure::machine)?,
        "extras": extras,
        "stoppages": stoppages,
        "crew_hours_lost": claim.crew_hours_lost,
        "remarks": claim.remarks,
    });
    let more = [
        ("from", claim.from.map(|from| from.to_string().into())),
        ("currency", claim.currency.clone().map(Into::into)),
        ("value_so_far", claim.value_so_far.and_then(|value| value.to_f64()).map(Into::into)),
        ("value_period", claim.value_period.and_then(|value| value.to_f64()).map(Into::into)),
    ];
    for (key, field) in more {
        if let Some(field) = field {
            value[key] = field;
        }
    }
    Ok(value)
}

fn print(claim: &Claim, name: &str, out: &mut Out) -> Result<(), Failure> {
    let from = claim.from.map_or_else(|| "From the beginning".to_owned(), |from| from.format("%-d %b %Y").to_string());
    out.wrapped(&format!("{name}. {from} to {}.", claim.until.format("%-d %b %Y")), 2)?;
    let currency = claim.currency.as_deref().unwrap_or_default();
    if claim.lines.is_empty() {
        out.line("Nothing can be measured.")?;
    } else {
        // Counted things have no hundredths.
        let many = |value: &Decimal, line: &Line| match line.unit {
            Unit::Each => value.normalize().to_string(),
            _ => value.to_string(),
        };
        let row = |line: &Line| {
            let mut row = vec![
                line.part.clone(),
                line.title.clone(),
                line.unit.sign().to_owned(),
                many(&line.period, line),
                many(&line.so_far, line),
                many(&line.whole, line),
            ];
            if claim.currency.is_some() {
                row.push(line.price.map(|price| price.to_string()).unwrap_or_default());
                row.push(line.value_period.map(|value| value.to_string()).unwrap_or_default());
            }
            row
        };
        let rows: Vec<Vec<String>> = claim.lines.iter().map(row).collect();
        let mut heading = vec!["On", "Stage", "In", "Period", "So far", "Whole"];
        if claim.currency.is_some() {
            heading.extend(["Price", "Value"]);
        }
        out.table(&heading, &rows)?;
    }
    if let (Some(period), Some(so_far)) = (claim.value_period, claim.value_so_far) {
        out.line(format!("This period {period} {currency}; so far {so_far} {currency}. Before tax."))?;
    } else {
        out.wrapped("No prices: the job has no rates (cladlog job rates FILE.toml).", 2)?;
    }
    for (extra, size) in claim.extras.iter().map(|extra| (extra, extra.size())) {
        let size = if size.is_empty() { String::new() } else { format!(" ({size})") };
        let day = extra.at.format("%-d %b");
        out.wrapped(&format!("Extra, {day}: {}{size}; asked for by {}.", extra.what, extra.asked_by), 2)?;
    }
    for (one, lost) in &claim.stoppages {
        let notified = names(&one.notified);
        let day = one.started_at.format("%-d %b");
        out.wrapped(&format!("Stoppage, {day}: {}; {} lost; notified {notified}.", one.cause, crew_hours(*lost)), 2)?;
    }
    claim.remarks.iter().try_for_each(|remark| out.wrapped(remark, 2))
}

fn csv(claim: &Claim) -> Vec<Vec<String>> {
    let mut heading: Vec<String> =
        ["part", "stage", "title", "unit", "whole", "so_far", "period"].map(str::to_owned).to_vec();
    if claim.currency.is_some() {
        heading.extend(["price", "value_so_far", "value_period", "currency"].map(str::to_owned));
    }
    let mut rows = vec![heading];
    rows.extend(claim.lines.iter().map(|line| {
        let mut row = vec![
            line.part.clone(),
            line.stage.clone(),
            line.title.clone(),
            line.unit.to_string(),
            line.whole.to_string(),
            line.so_far.to_string(),
            line.period.to_string(),
        ];
        if let Some(currency) = &claim.currency {
            let text = |value: Option<Decimal>| value.map(|value| value.to_string()).unwrap_or_default();
            let own = line.price.map(|_| currency.clone()).unwrap_or_default();
            row.extend([text(line.price), text(line.value_so_far), text(line.value_period), own]);
        }
        row
    }));
    rows
}
