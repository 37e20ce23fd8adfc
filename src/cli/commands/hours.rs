//! `cladlog hours`: hours worked, by day, week, person or stage.

use chrono::NaiveDate;
use clap::Args;
use serde::Serialize;
use serde_json::{Value, json};

use crate::accounts::hours::{By, Worked, gathered, unclosed, worked};
use crate::accounts::{Period, pace};
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::table::{Cell, CsvColumn};
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
    /// Split by stage, from the recorded times: see cladlog pace
    #[arg(long, group = "gathered", conflicts_with_all = ["from", "until"])]
    stage: bool,
    #[command(flatten)]
    period: Period,
    #[command(flatten)]
    csv: CsvTo,
}

pub fn run(args: &HoursArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let Period { from, until } = args.period;
    if let (Some(from), Some(until)) = (from, until)
        && from > until
    {
        return Err(Failure::input(format!("--until {until} is before --from {from}")));
    }
    let within = |date: &NaiveDate| from.is_none_or(|from| *date >= from) && until.is_none_or(|until| *date <= until);
    let each: Vec<Worked> = worked(state).into_iter().filter(|one| within(&one.date)).collect();
    let open: Vec<NaiveDate> = unclosed(state).into_iter().filter(within).collect();
    let total = each.iter().fold(0.0, |sum, one| sum + one.hours);
    let (key, rows): (&'static str, Vec<(String, f64)>) = if args.stage {
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
    let hours: CsvColumn<'_, _> = ("hours", &|(_, hours): &&(String, f64)| Cell::text(show(*hours)));
    if args.csv.columns(&rows, &[(key, &|(name, _)| name.into()), hours], out)? {
        return Ok(());
    }
    if out.is_json() {
        let list: Vec<_> = rows.iter().map(|(name, hours)| json!({ key: name, "hours": hours })).collect();
        return out.json(&listed(&list, total, &open));
    }
    let heading = match key {
        "stage" => "Stage",
        "week" => "Week",
        "person" => "Person",
        _ => "Day",
    };
    print([heading, "Hours"], rows.into_iter().map(|(name, hours)| [name, show(hours)]).collect(), total, &open, out)?;
    if args.stage {
        out.wrapped(
            "Hours of closed days, split by stage from the recorded times; 'none' is time lost to stoppages.",
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
    let columns: [CsvColumn<'_, &Worked>; 3] = [
        ("date", &|it| Cell::text(it.date.to_string())),
        ("person", &|it| (&it.person).into()),
        ("hours", &|it| Cell::text(show(it.hours))),
    ];
    if args.csv.columns(each, &columns, out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&listed(each, total, open));
    }
    let row = |one: &Worked| [one.date.to_string(), one.person.clone(), show(one.hours)];
    print(["Day", "Person", "Hours"], each.iter().map(row).collect(), total, open, out)
}

fn listed(list: &[impl Serialize], total: f64, open: &[NaiveDate]) -> Value {
    json!({ "hours": list, "total_hours": total, "not_closed": open })
}

fn print<const N: usize>(
    heading: [&str; N],
    rows: Vec<[String; N]>,
    total: f64,
    open: &[NaiveDate],
    out: &mut Out,
) -> Result<(), Failure> {
    if rows.is_empty() {
        out.line("No hours yet: they are entered when a site day is closed.")?;
    } else {
        out.table(heading, rows)?;
        out.line(format!("{} hours in all.", show(total)))?;
    }
    if !open.is_empty() {
        let days: Vec<String> = open.iter().map(|date| date.format("%a %-d %b").to_string()).collect();
        out.wrapped(&format!("Not counted, because not closed: {}.", days.join(", ")), 2)?;
    }
    Ok(())
}
