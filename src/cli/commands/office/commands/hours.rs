//! `cladlog office hours`.

use std::str::FromStr;

use chrono::{Datelike, NaiveDate, Weekday};
use clap::Args;
use serde::Serialize;

use crate::cli::commands::office::commands::say_left_out;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::office::{NotReplayed, Server, hours_between};
use crate::table::{Column, Row, grouped};
use crate::units::number::show;

/// Show who worked how many hours in a week, on every job
#[derive(Debug, Args)]
pub struct HoursArgs {
    /// The week as ISO 8601 counts it, such as 2026-W10; it begins on Monday
    #[arg(long, value_name = "WEEK")]
    week: Week,
    #[command(flatten)]
    csv: CsvTo,
}

/// A week, by its Monday.
#[derive(Debug, Clone, Copy)]
struct Week(NaiveDate);

impl FromStr for Week {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = || {
            let (year, week) = text.split_once("-W").filter(|(year, week)| year.len() == 4 && week.len() == 2)?;
            NaiveDate::from_isoywd_opt(year.parse().ok()?, week.parse().ok()?, Weekday::Mon)
        };
        read().map(Self).ok_or_else(|| "a week is a year and a number, such as 2026-W10".to_owned())
    }
}

impl std::fmt::Display for Week {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-W{:02}", self.0.iso_week().year(), self.0.iso_week().week())
    }
}

#[derive(Debug, Serialize)]
struct OnJob {
    job: String,
    hours: f64,
}

#[derive(Debug, Serialize)]
struct PersonHours {
    name: String,
    jobs: Vec<OnJob>,
    hours: f64,
}

#[derive(Debug, Serialize)]
struct WeekHours {
    week: String,
    people: Vec<PersonHours>,
    hours: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_replayed: Vec<NotReplayed>,
}

/// One person on one job.
struct HoursRow {
    name: String,
    job: String,
    hours: f64,
}

impl Row for HoursRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "name", title: "Person", cell: |it| (&it.name).into() },
        Column { key: "job", title: "Job", cell: |it| (&it.job).into() },
        Column { key: "hours", title: "Hours", cell: |it| it.hours.into() },
    ];
}

/// Hours are given to two places; their sums have no more.
fn rounded(hours: f64) -> f64 {
    (hours * 100.0).round() / 100.0 + 0.0
}

pub fn run(args: &HoursArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let Week(monday) = args.week;
    let sunday = monday + chrono::Days::new(6);
    let answer = hours_between(&mut server, site.global.job.as_deref(), monday, sunday)?;
    say_left_out(&answer.not_replayed, out);
    let mut each: Vec<(String, (String, f64))> =
        answer.found.into_iter().map(|(job, worked)| (worked.person, (job, worked.hours))).collect();
    each.sort_by(|a, b| a.0.cmp(&b.0));
    let sum = |hours: &mut dyn Iterator<Item = f64>| rounded(hours.sum());
    let people: Vec<PersonHours> = grouped(each)
        .into_iter()
        .map(|(name, jobs)| {
            let jobs = grouped(jobs).into_iter();
            let jobs: Vec<OnJob> = jobs.map(|(job, hours)| OnJob { job, hours: sum(&mut hours.into_iter()) }).collect();
            PersonHours { name, hours: sum(&mut jobs.iter().map(|on| on.hours)), jobs }
        })
        .collect();
    let total = sum(&mut people.iter().map(|person| person.hours));
    let rows = people.iter().flat_map(|person| {
        let name = &person.name;
        person.jobs.iter().map(move |on| HoursRow { name: name.clone(), job: on.job.clone(), hours: on.hours })
    });
    let rows: Vec<HoursRow> = rows.collect();
    if args.csv.rows(&rows, out)? {
        return Ok(());
    }
    if out.is_json() {
        let week = args.week.to_string();
        return out.json(&WeekHours { week, people, hours: total, not_replayed: answer.not_replayed });
    }
    if rows.is_empty() {
        return out.line(format!("No hours in {}: they are given when a site day is closed.", args.week));
    }
    out.rows(&rows)?;
    out.line(format!("{} hours in all.", show(total)))
}
