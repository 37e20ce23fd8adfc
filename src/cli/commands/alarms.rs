//! `cladlog alarms`: a calendar file for the phone.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use crate::calendar::{Event, calendar};
use crate::cli::failure::Failure;
use crate::cli::files::write_whole;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::plain::count;

/// Write the times of windows and the seal plan to a calendar file, with alarms
#[derive(Debug, Args)]
#[command(after_help = "\
Load the file into the calendar of a phone. Openings, warnings and closings of running windows, and what the kept seal \
plan asks for. After a change write and load it again: alarms that moved move, finished ones disappear.")]
pub struct AlarmsArgs {
    /// The calendar file (RFC 5545) to write
    #[arg(value_name = "FILE.ics")]
    file: PathBuf,
}

pub fn run(args: &AlarmsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let events = opened.book.state.alarms(opened.now);
    write_whole(&args.file, calendar(&events).as_bytes())?;
    if out.is_json() {
        let listed = |Event { uid, start, summary, cancelled, .. }: &Event| json!({ "uid": uid, "at": start, "summary": summary, "cancelled": cancelled });
        let alarms: Vec<Value> = events.iter().map(listed).collect();
        return out.json(&json!({ "file": args.file.display().to_string(), "alarms": alarms }));
    }
    let ringing: Vec<&Event> = events.iter().filter(|event| !event.cancelled).collect();
    let file = args.file.display();
    let Some(first) = ringing.first() else {
        let holds = match events.len() {
            0 => "is an empty calendar".to_owned(),
            many => format!("removes {} that a phone has from before", count(many, "alarm")),
        };
        return out
            .line(format!("Nothing to ring: no window is running and no seal plan is followed. {file} {holds}."));
    };
    let cancelled = match events.len() - ringing.len() {
        0 => String::new(),
        many => format!(", {many} cancelled"),
    };
    out.line(format!(
        "{file}: {}{cancelled}. First: {}, {}.",
        count(ringing.len(), "alarm"),
        first.start.clock(opened.now.date()),
        first.summary
    ))
}
