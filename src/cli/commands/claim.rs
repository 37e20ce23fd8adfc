//! `cladlog claim`: what is complete, by wall and stage, and what it comes to at the job's rates.

use clap::Args;
use rust_decimal::Decimal;

use crate::accounts::claim::{ClaimError, Line};
use crate::accounts::{Claim, Period, StoppageRow, claim};
use crate::building::Unit;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::moment::dated;
use crate::plain::names;
use crate::table::{Cell, CsvColumn};
use crate::units::number::crew_hours;

/// Show what is complete, by wall and stage, and its value at the job's rates
#[derive(Debug, Args)]
pub struct ClaimArgs {
    #[command(flatten)]
    period: Period,
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &ClaimArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let rates = opened.store.rates(&opened.stored.key)?;
    let claim = claim(&opened.book, &rates, args.period, opened.now).map_err(|error| match error {
        ClaimError::Backwards { .. } => Failure::input(error),
        ClaimError::Replay(error) => error.into(),
    })?;
    if csv(&claim, &args.csv, out)? {
        return Ok(());
    }
    if out.is_json() { out.json(&claim) } else { print(&claim, &opened.book.state.job.name, out) }
}

fn print(claim: &Claim, name: &str, out: &mut Out) -> Result<(), Failure> {
    let from = claim.from.map_or_else(|| "From the beginning".to_owned(), dated);
    out.wrapped(&format!("{name}. {from} to {}.", dated(claim.until)), 2)?;
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
            let [period, so_far, whole] = [&line.period, &line.so_far, &line.whole].map(|value| many(value, line));
            [line.part.clone(), line.title.clone(), line.unit.sign().to_owned(), period, so_far, whole]
        };
        let text = |value: Option<Decimal>| value.map(|value| value.to_string()).unwrap_or_default();
        let priced = |line: &Line| {
            let [part, title, unit, period, so_far, whole] = row(line);
            [part, title, unit, period, so_far, whole, text(line.price), text(line.value_period)]
        };
        match claim.currency {
            None => out.table(["On", "Stage", "In", "Period", "So far", "Whole"], claim.lines.iter().map(row))?,
            Some(_) => {
                let heading = ["On", "Stage", "In", "Period", "So far", "Whole", "Price", "Value"];
                out.table(heading, claim.lines.iter().map(priced))?;
            }
        }
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
    for StoppageRow { stoppage: one, lost_h } in &claim.stoppages {
        let notified = names(&one.notified);
        let day = one.started_at.format("%-d %b");
        out.wrapped(&format!("Stoppage, {day}: {}; {} lost; notified {notified}.", one.cause, crew_hours(*lost_h)), 2)?;
    }
    claim.remarks.iter().try_for_each(|remark| out.wrapped(remark, 2))
}

/// Without rates nothing is said of prices.
fn csv(claim: &Claim, csv: &CsvTo, out: &mut Out) -> Result<bool, Failure> {
    let text = |value: Option<Decimal>| Cell::from(value.map(|value| value.to_string()));
    let columns: [CsvColumn<'_, &Line>; 11] = [
        ("part", &|it| (&it.part).into()),
        ("stage", &|it| (&it.stage).into()),
        ("title", &|it| (&it.title).into()),
        ("unit", &|it| Cell::text(it.unit.to_string())),
        ("whole", &|it| text(Some(it.whole))),
        ("so_far", &|it| text(Some(it.so_far))),
        ("period", &|it| text(Some(it.period))),
        ("price", &|it| text(it.price)),
        ("value_so_far", &|it| text(it.value_so_far)),
        ("value_period", &|it| text(it.value_period)),
        ("currency", &|it| it.price.and(claim.currency.clone()).into()),
    ];
    let many = if claim.currency.is_some() { columns.len() } else { 7 };
    csv.columns(&claim.lines, &columns[..many], out)
}
