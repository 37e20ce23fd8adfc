//! `cladlog record`: a step done on a subject.

use chrono_tz::Tz;
use clap::Args;

use crate::cli::photos::{batch_answer, photo_answer};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Given, Request, Value};
use crate::sequence::{AskKind, Sequence};

/// Record a step done on a subject
#[derive(Debug, Args)]
pub struct RecordArgs {
    /// Key of the step
    pub step: String,
    /// What it was done to: N, N/J1..6, N/C3, N/O1, NE, job, or a list
    #[arg(long, value_name = "SUBJECT")]
    pub on: String,
    /// An answer; a photo's is its file, or a folder for the newest photo in it; KEY@SUBJECT=VALUE for one of several subjects alone
    #[arg(long = "answer", value_name = "KEY=VALUE")]
    pub answers: Vec<String>,
    /// Record it although a rule stops it: it opens a defect
    #[arg(long, requires = "why")]
    pub anyway: bool,
    /// Why it is recorded anyway
    #[arg(long, value_name = "TEXT", requires = "anyway")]
    pub why: Option<String>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &RecordArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let answers = args
        .answers
        .iter()
        .map(|given| answer(given, &args.step, opened.book.state.sequence(), opened.book.state.job.time_zone))
        .collect::<Result<Vec<_>, _>>()?;
    let request = Request::Step { step: args.step.clone(), on: args.on.clone(), answers, anyway: args.why.clone() };
    site.record_and_tell(&request, out)
}

fn answer(given: &str, step: &str, sequence: &Sequence, zone: Tz) -> Result<Given, Failure> {
    let (key, value) = given
        .split_once('=')
        .ok_or_else(|| Failure::input(format!("--answer '{given}': write KEY=VALUE, as in lean=2")))?;
    let (key, subject) = match key.split_once('@') {
        Some((key, subject)) => (key, Some(subject.to_owned())),
        None => (key, None),
    };
    let kind = sequence
        .step(step)
        .and_then(|step| sequence.steps[step].asks.iter().find(|ask| ask.key == key))
        .map(|ask| ask.kind);
    let value = match kind {
        Some(AskKind::Photo) => photo_answer(key, value, zone)?,
        Some(AskKind::Batch) => batch_answer(value, zone)?,
        _ => Value::Typed(value.to_owned()),
    };
    Ok(Given { subject, key: key.to_owned(), value })
}
