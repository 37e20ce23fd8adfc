//! `cladlog batch`: deliveries, what became of them, and where a batch is.

use clap::{Args, Subcommand};
use serde_json::{Value, json};

use super::Anyway;
use super::stock::batch_json;
use crate::building::{SubjectIx, Subjects};
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{BatchLine, Counted, FlagJson, Line, State, Taken};
use crate::form::nearest;
use crate::materials::product::{Amount, counted as count_of};
use crate::moment::dated;
use crate::record::{DeliverBatch, StockUse, TakeStock};
use crate::table::without_nulls;
use crate::units::number::shortened;

/// Deliveries, what was used of them, and where a batch is
#[derive(Debug, Subcommand)]
pub enum BatchCommand {
    /// Record a delivery
    Add(DeliverBatch),
    /// List every batch with what is left of it
    List(ListArgs),
    /// Show where a batch is: every wall, course, joint and opening
    Trace(TraceArgs),
    /// Record what was used outside a step, cut up, thrown away or sent back
    Use(UseArgs),
}

#[derive(Debug, Args)]
pub struct ListArgs {
    /// Only this product
    #[arg(long, value_name = "PRODUCT")]
    product: Option<String>,
}

#[derive(Debug, Args)]
pub struct TraceArgs {
    /// Batch number on the label
    #[arg(value_name = "BATCH")]
    batch: String,
    /// Only of this product
    #[arg(long, value_name = "PRODUCT")]
    product: Option<String>,
}

/// Arguments of `batch use`
///
/// Without --count, what the subject takes by the job's geometry is counted.
#[derive(Debug, Args)]
pub struct UseArgs {
    #[command(flatten)]
    take: TakeStock,
    #[command(flatten)]
    anyway: Anyway,
}

pub fn run(command: &BatchCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        BatchCommand::List(args) => list(args, site, out),
        BatchCommand::Trace(args) => trace(args, site, out),
        BatchCommand::Add(request) => site.record_and_print(request, out),
        BatchCommand::Use(args) => {
            site.record_and_print(&TakeStock { anyway: args.anyway.why.clone(), ..args.take.clone() }, out)
        }
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let ledger = opened.book.state.ledger(opened.now);
    let wanted = |line: &&Line| args.product.as_ref().is_none_or(|product| *product == line.product);
    let batches: Vec<(&Line, &BatchLine)> = ledger
        .lines
        .iter()
        .filter(wanted)
        .flat_map(|line| line.batches.iter().map(move |batch| (line, batch)))
        .collect();
    if out.is_json() {
        let list: Vec<Value> = batches.iter().map(|(line, batch)| batch_json(line, batch)).collect();
        return out.json(&json!({ "batches": list }));
    }
    if batches.is_empty() {
        return out.line("No batch is recorded: cladlog batch add --product … --batch … --count …");
    }
    let row = |(line, batch): &(&Line, &BatchLine)| {
        let came = batch.deliveries.first().map(|came| came.at.format("%-d %b").to_string());
        [
            line.product.clone(),
            batch.batch.clone(),
            batch.colour.clone().unwrap_or_default(),
            came.map_or_else(|| "never".to_owned(), |day| format!("{} on {day}", batch.sums.delivered)),
            count_of(batch.sums.left(), &line.unit),
            batch.expires.map(dated).unwrap_or_default(),
        ]
    };
    out.table(["Product", "Batch", "Colour", "Delivered", "Left", "Expires"], batches.iter().map(row))
}

/// Where something of a batch went, as JSON has it.
fn use_json(state: &State, counted: &Counted) -> Value {
    let taken = &counted.taken;
    // Whether somebody counted, or the geometry says.
    let by = if taken.count.is_some() { "hand" } else { "geometry" };
    without_nulls(json!({
        "subject": state.subjects.get(taken.subject).to_string(), "how": taken.how.word(), "step": taken.step,
        "count": counted.count().map(Amount::units), "counted_by": counted.count().map(|_| by), "at": taken.at,
        "by": taken.by, "entry": taken.entry, "note": taken.note, "anyway": taken.anyway,
    }))
}

/// The subjects that something of a batch ended up on, in the order of the building.
fn subjects_of(batch: &BatchLine) -> Vec<SubjectIx> {
    let on_wall = batch.taken.iter().filter(|counted| counted.taken.how.is_on_the_wall());
    let mut subjects: Vec<SubjectIx> = on_wall.map(|counted| counted.taken.subject).collect();
    subjects.sort_unstable();
    subjects.dedup();
    subjects
}

fn trace(args: &TraceArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let ledger = state.ledger(opened.now);
    let wanted = |line: &&Line| args.product.as_ref().is_none_or(|product| *product == line.product);
    let lines: Vec<&Line> = ledger.lines.iter().filter(wanted).collect();
    let found: Vec<(&Line, &BatchLine)> =
        lines.iter().filter_map(|line| line.batch(&args.batch).map(|batch| (*line, batch))).collect();
    // Where nobody named the batch, it may be this one: a recall has to look there too.
    let unnamed: Vec<&Counted> = found
        .iter()
        .flat_map(|(line, batch)| {
            let subjects = line.subjects_not_named();
            let since = batch.deliveries.iter().map(|came| came.at).min();
            line.not_named
                .iter()
                .filter(move |counted| subjects.contains(&counted.taken.subject))
                .filter(move |counted| since.is_none_or(|since| since <= counted.taken.at))
        })
        .collect();
    let flags = state.flags_of(&ledger, opened.now);
    let flags: Vec<FlagJson<'_>> = flags
        .iter()
        .filter(|flag| {
            flag.batch.as_ref().is_some_and(|label| {
                found.iter().any(|(line, batch)| line.product == flag.product && batch.batch == *label)
            })
        })
        .map(|flag| FlagJson::of(state, flag))
        .collect();
    if out.is_json() {
        let traced = |(line, batch): &(&Line, &BatchLine)| {
            let subjects = subjects_of(batch).into_iter().map(|subject| state.subjects.get(subject).to_string());
            let mut traced = batch_json(line, batch);
            traced["subjects"] = subjects.collect();
            traced["uses"] = batch.taken.iter().map(|counted| use_json(state, counted)).collect();
            traced
        };
        let batches: Vec<Value> = found.iter().map(traced).collect();
        let unnamed: Vec<Value> = unnamed.iter().map(|counted| use_json(state, counted)).collect();
        out.json(&json!({
            "batch": args.batch, "batches": batches, "not_named": unnamed, "flags": flags,
        }))?;
    } else {
        for (line, batch) in &found {
            print_batch(state, line, batch, out)?;
        }
        if !unnamed.is_empty() {
            let mut on: Vec<SubjectIx> = unnamed.iter().map(|counted| counted.taken.subject).collect();
            on.sort_unstable();
            on.dedup();
            let line = format!("No batch was named for {}, so this one may be there too.", state.subjects.shortly(&on));
            out.wrapped(&line, 2)?;
        }
        for flag in &flags {
            out.wrapped(&format!("! {}.", flag.says), 2)?;
        }
    }
    if !found.is_empty() {
        return Ok(());
    }
    if !out.is_json() {
        let labels: Vec<&str> = lines.iter().flat_map(|line| &line.batches).map(|batch| batch.batch.as_str()).collect();
        let near = nearest(&args.batch, &labels).map(|near| format!("; did you mean {near}?")).unwrap_or_default();
        out.line(format!("No batch '{}' was delivered or used on this job{near}", shortened(&args.batch)))?;
    }
    Err(Failure::AnswerNo)
}

/// One batch for a person: where it came from, then where it went.
fn print_batch(state: &State, line: &Line, batch: &BatchLine, out: &mut Out) -> Result<(), Failure> {
    let colour = batch.colour.as_ref().map(|colour| format!(", {colour}")).unwrap_or_default();
    let expires = batch.expires.map(|day| format!(", expires {}", dated(day))).unwrap_or_default();
    out.wrapped(&format!("{} {}{colour}{expires}", line.product, batch.batch), 2)?;
    for came in &batch.deliveries {
        let notes: String = came.condition.iter().chain(&came.note).map(|note| format!("; {note}")).collect();
        let at = came.at.format("%a %-d %b %Y %H:%M");
        let count = count_of(came.count, &came.unit);
        let text = format!("  delivered {at}: {count}{notes} ({}, {})", came.by, came.entry);
        out.wrapped(&text, 4)?;
    }
    let on = subjects_of(batch);
    let on = if on.is_empty() { "nothing".to_owned() } else { state.subjects.shortly(&on) };
    out.wrapped(&format!("  on: {on}"), 6)?;
    // What one record took on several subjects is one row.
    let mut rows: Vec<(&Taken, Vec<SubjectIx>, Option<Amount>)> = Vec::new();
    for counted in &batch.taken {
        let taken = &*counted.taken;
        let alike = |(other, ..): &&mut (&Taken, _, _)| {
            (other.at, &other.step, other.how, &other.by, &other.note)
                == (taken.at, &taken.step, taken.how, &taken.by, &taken.note)
        };
        match rows.iter_mut().find(alike) {
            Some((_, on, sum)) => {
                on.push(taken.subject);
                *sum = sum.zip(counted.count()).map(|(sum, count)| sum + count);
            }
            None => rows.push((taken, vec![taken.subject], counted.count())),
        }
    }
    let row = |(taken, on, count): (&Taken, Vec<SubjectIx>, Option<Amount>)| {
        [
            taken.at.format("%a %-d %b %H:%M").to_string(),
            taken.step.clone().unwrap_or_else(|| taken.how.word().replace('-', " ")),
            if on == [Subjects::JOB] { String::new() } else { state.subjects.shortly(&on) },
            match (taken.how, count) {
                // Cut from off-cuts, nothing comes off the stock: what is counted are pieces.
                (StockUse::OffCut, count) => count.map(|count| count_of(count, "pieces")).unwrap_or_default(),
                (_, Some(count)) => count.to_string(),
                (_, None) => "not counted".to_owned(),
            },
            taken.by.clone(),
            taken.entry.to_string(),
        ]
    };
    if !rows.is_empty() {
        out.table(["When", "What", "On", "Count", "By", "Entry"], rows.into_iter().map(row))?;
    }
    let flow = [
        ("delivered", batch.sums.delivered),
        ("used", batch.sums.used),
        ("thrown away", batch.sums.thrown_away),
        ("sent back", batch.sums.sent_back),
    ];
    let flow: Vec<String> =
        flow.iter().filter(|(_, many)| *many != Amount::NONE).map(|(word, many)| format!("{many} {word}")).collect();
    out.line(format!("  {}; {} left.", flow.join(", "), count_of(batch.sums.left(), &line.unit)))
}
