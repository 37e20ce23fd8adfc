//! `cladlog extra`: work beyond what was agreed, and who asked for it.

use clap::{Args, Subcommand};

use crate::cli::filters::{CsvTo, Filters};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Extra, ExtraWork, Request};
use crate::units::number::show;
use crate::units::parse_decimal;

/// Note extra work that was asked for; list it
#[derive(Debug, Subcommand)]
pub enum ExtraCommand {
    /// Note extra work: what, and who asked for it
    Add(AddArgs),
    /// List all extra work
    List(ListArgs),
}

/// Arguments of `extra add`
#[derive(Debug, Args)]
pub struct AddArgs {
    /// What is asked for
    #[arg(long, value_name = "TEXT")]
    what: String,
    /// Who asked, of the job or not
    #[arg(long, value_name = "NAME")]
    asked_by: String,
    /// Who was told besides
    #[arg(long, num_args = 1.., value_name = "NAME")]
    told: Vec<String>,
    /// Where
    #[arg(long, value_name = "SUBJECT", default_value = "job")]
    on: String,
    /// Hours that it took or will take, of each of the people
    #[arg(long, value_name = "H", allow_negative_numbers = true)]
    hours: Option<String>,
    /// How many people
    #[arg(long, value_name = "N")]
    people: Option<u32>,
    /// How much, in --unit
    #[arg(long, value_name = "Q", allow_negative_numbers = true)]
    quantity: Option<String>,
    /// The unit of the quantity: m2, m, each, …
    #[arg(long, value_name = "U")]
    unit: Option<String>,
}

/// Arguments of `extra list`
#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    csv: CsvTo,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &ExtraCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        ExtraCommand::List(args) => list(args, site, out),
        ExtraCommand::Add(args) => {
            let number = |option: &str, text: &Option<String>| {
                let read = text.as_ref().map(|text| parse_decimal(text)).transpose();
                read.map_err(|error| Failure::input(format!("{option}: {error}")))
            };
            let extra = Extra {
                on: args.on.clone(),
                what: args.what.clone(),
                asked_by: args.asked_by.clone(),
                told: args.told.clone(),
                hours: number("--hours", &args.hours)?,
                people: args.people,
                quantity: number("--quantity", &args.quantity)?,
                unit: args.unit.clone(),
            };
            site.record_and_tell(&Request::AddExtra(extra), out)
        }
    }
}

/// An extra for other programs.
pub fn json_of(extra: &ExtraWork) -> serde_json::Value {
    let mut value = serde_json::json!({
        "id": extra.entry,
        "subject": extra.subject,
        "at": extra.at.to_string(),
        "by": extra.by,
        "what": extra.what,
        "asked_by": extra.asked_by,
        "told": extra.told,
    });
    let more = [
        ("hours", extra.hours.map(serde_json::Value::from)),
        ("people", extra.people.map(Into::into)),
        ("crew_hours", extra.person_hours().map(Into::into)),
        ("quantity", extra.quantity.map(Into::into)),
        ("unit", extra.unit.clone().map(Into::into)),
    ];
    for (key, field) in more {
        if let Some(field) = field {
            value[key] = field;
        }
    }
    value
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let wanted = args.filters.read(state)?;
    let is_wanted = |one: &&ExtraWork| {
        let people = [&one.by, &one.asked_by].into_iter().chain(&one.told).map(String::as_str);
        wanted.on(state, &one.subject) && wanted.at(&one.at) && wanted.by(people)
    };
    let extras: Vec<&ExtraWork> = state.extras.iter().filter(is_wanted).collect();
    if args.csv.write(&rows(&extras), out)? {
        return Ok(());
    }
    if out.is_json() {
        let each: Vec<_> = extras.iter().map(|one| json_of(one)).collect();
        return out.json(&serde_json::json!({ "extras": each }));
    }
    if extras.is_empty() {
        return out.line("No extra work.");
    }
    for one in &extras {
        out.wrapped(&format!("{}  {}  {}", one.at.format("%a %-d %b %H:%M"), one.subject, one.what), 4)?;
        let told = if one.told.is_empty() { String::new() } else { format!("; told {}", one.told.join(", ")) };
        let size = one.size();
        let size = if size.is_empty() { String::new() } else { format!("; {size}") };
        out.wrapped(&format!("    asked for by {}{told}{size}", one.asked_by), 6)?;
        out.line(format!("    {}", one.entry))?;
    }
    Ok(())
}

fn rows(extras: &[&ExtraWork]) -> Vec<Vec<String>> {
    let heading =
        ["id", "at", "subject", "what", "asked_by", "told", "hours", "people", "crew_hours", "quantity", "unit", "by"];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(extras.iter().map(|one| {
        vec![
            one.entry.clone(),
            one.at.to_string(),
            one.subject.clone(),
            one.what.clone(),
            one.asked_by.clone(),
            one.told.join("; "),
            one.hours.map(show).unwrap_or_default(),
            one.people.map(|people| people.to_string()).unwrap_or_default(),
            one.person_hours().map(show).unwrap_or_default(),
            one.quantity.map(show).unwrap_or_default(),
            one.unit.clone().unwrap_or_default(),
            one.by.clone(),
        ]
    }));
    rows
}
