//! `cladlog office trace`.

use clap::Args;
use serde::Serialize;

use crate::cli::commands::office::commands::say_left_out;
use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::office::{NotReplayed, Server, trace};
use crate::record::EntryId;
use crate::table::{Column, Row};
use crate::units::number::shortened;

/// Show where a batch is, on every job
#[derive(Debug, Args)]
pub struct TraceArgs {
    /// Batch number on the label
    #[arg(value_name = "BATCH")]
    batch: String,
    #[command(flatten)]
    csv: CsvTo,
}

#[derive(Debug, Serialize)]
struct PlaceRow {
    job: String,
    subject: String,
    entry: EntryId,
}

impl Row for PlaceRow {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "job", title: "Job", cell: |it| (&it.job).into() },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "entry", title: "Entry", cell: |it| it.entry.to_string().into() },
    ];
}

#[derive(Debug, Serialize)]
struct Traced<'a> {
    batch: &'a str,
    places: &'a [PlaceRow],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_replayed: Vec<NotReplayed>,
}

pub fn run(args: &TraceArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let answer = trace(&mut server, site.global.job.as_deref(), &args.batch)?;
    say_left_out(&answer.not_replayed, out);
    let rows = answer.found.into_iter();
    let rows: Vec<PlaceRow> =
        rows.map(|(job, place)| PlaceRow { job, subject: place.subject, entry: place.entry }).collect();
    let found = !rows.is_empty();
    if args.csv.rows(&rows, out)? {
        // As CSV it is the rows that answer.
    } else if out.is_json() {
        out.json(&Traced { batch: &args.batch, places: &rows, not_replayed: answer.not_replayed })?;
    } else if found {
        out.rows(&rows)?;
    } else {
        out.line(format!("Batch '{}' was used on no job.", shortened(&args.batch)))?;
    }
    if found { Ok(()) } else { Err(Failure::AnswerNo) }
}
