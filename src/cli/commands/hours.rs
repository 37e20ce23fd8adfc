//! `cladlog hours`: hours worked, by day, week, person or stage.

use chrono::NaiveDate;
use clap::Args;

use crate::accounts::hours::{By, Worked, gathered, unclosed, worked};
use crate::accounts::pace;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::units::number::show;

/// Show the hours worked, by person and day, or added up
#[derive(Debug, Args)]
pub struct HoursArgs {
    /// Add up by day
    #[arg(long, group = "gathered")]
    day: bool,
    /// Add up by week
    #[arg(long, group = "gathered")]
    week: bool,
    /// Add up by person
    #[arg(long, group = "gathered")]
    person: bool,
    /// Spread over stages, by the times of the record: see cladlog pace
    #[arg(long, group = "gathered", conflicts_with_all = ["from", "until"])]
    stage: bool,
    /// From this day on
    #[arg(long, value_name = "DATE")]
    from: Option<NaiveDate>,
    /// Up to and including this day
    #[arg(long, value_name = "DATE")]
    until: Option<NaiveDate>,
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &HoursArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    if let (Some(from), Some(until)) = (args.from, args.until)
        && from > until
    {
        return Err(Failure::input(format!("--until {until} is before --from {from}")));
    }
    let within = |date: &NaiveDate| args.from.is_none_or(|from| *date >= from) && args.until.is_none_or(|u| *date <= u);
    let each: Vec<Worked> = worked(state).into_iter().filter(|one| within(&one.date)).collect();
    let open: Vec<NaiveDate> = unclosed(state).into_iter().filter(within).collect();
    let total = each.iter().fold(0.0, |sum, one| sum + one.hours);
    let (key, rows): (&str, Vec<(String, f64)>) = if args.stage {
        let pace = pace(state, opened.now);
        let rows = pace.stages.iter().filter(|stage| stage.crew_hours > 0.0);
        let mut rows: Vec<(String, f64)> = rows.map(|stage| (stage.stage.clone(), rounded(stage.crew_hours))).collect();
        // So that the rows come to the total: what stoppages took, and days without steps.
        let rest = rounded(total - rows.iter().map(|(_, hours)| hours).sum::<f64>());
        if rest != 0.0 {
            rows.push(("none".to_owned(), rest));
        }
        ("stage", rows)
    } else {
        let by = [(args.week, By::Week, "week"), (args.person, By::Person, "person"), (args.day, By::Day, "date")];
        match by.into_iter().find(|(given, _, _)| *given) {
            Some((_, by, key)) => (key, gathered(&each, by)),
            None => return print_each(&each, total, &open, args, out),
        }
    };
    let csv = || {
        let mut lines = vec![vec![key.to_owned(), "hours".to_owned()]];
        lines.extend(rows.iter().map(|(name, hours)| vec![name.clone(), show(*hours)]));
        lines
    };
    if args.csv.write(&csv(), out)? {
        return Ok(());
    }
    if out.is_json() {
        let list: Vec<_> = rows.iter().map(|(name, hours)| serde_json::json!({ key: name, "hours": hours })).collect();
        return out.json(&json(list, total, &open));
    }
    let shown: Vec<Vec<String>> = rows.into_iter().map(|(name, hours)| vec![name, show(hours)]).collect();
    let heading = match key {
        "stage" => "Stage",
        "week" => "Week",
        "person" => "Person",
        _ => "Day",
    };
    print(&[heading, "Hours"], &shown, total, &open, out)?;
    if args.stage {
        out.wrapped(
            "Hours of closed days, put down to stages by the times of the record; 'none' is what stoppages took.",
            0,
        )?;
    }
    Ok(())
}

/// To a hundredth: shares of hours are no finer.
fn rounded(hours: f64) -> f64 {
    (hours * 100.0).round() / 100.0 + 0.0
}

fn print_each(each: &[Worked], total: f64, open: &[NaiveDate], args: &HoursArgs, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> =
        each.iter().map(|one| vec![one.date.to_string(), one.person.clone(), show(one.hours)]).collect();
    let mut csv = vec![["date", "person", "hours"].map(str::to_owned).to_vec()];
    csv.extend(rows.iter().cloned());
    if args.csv.write(&csv, out)? {
        return Ok(());
    }
    if out.is_json() {
        let list = each.iter().map(|one| serde_json::to_value(one).map_err(Failure::machine));
        return out.json(&json(list.collect::<Result<_, _>>()?, total, open));
    }
    print(&["Day", "Person", "Hours"], &rows, total, open, out)
}

fn json(list: Vec<serde_json::Value>, total: f64, open: &[NaiveDate]) -> serde_json::Value {
    serde_json::json!({ "hours": list, "total_hours": total, "not_closed": open })
}

fn print(heading: &[&str], rows: &[Vec<String>], total: f64, open: &[NaiveDate], out: &mut Out) -> Result<(), Failure> {
    if rows.is_empty() {
        out.line("No hours: they are given when a site day is closed.")?;
    } else {
        out.table(heading, rows)?;
        out.line(format!("{} hours in all.", show(total)))?;
    }
    if !open.is_empty() {
        let days: Vec<String> = open.iter().map(|date| date.format("%a %-d %b").to_string()).collect();
        out.wrapped(&format!("Not closed, and not in it: {}.", days.join(", ")), 2)?;
    }
    Ok(())
}
