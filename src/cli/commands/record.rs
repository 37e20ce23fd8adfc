//! `cladlog record`: a step done on a subject.

use std::path::Path;

use clap::Args;

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Given, Request, Value};
use crate::digest::sha256_hex;
use crate::sequence::{AskKind, Sequence};

/// Photos above this are no photos.
const MOST_FILE: u64 = 200 * 1024 * 1024;

/// Record a step done on a subject
#[derive(Debug, Args)]
pub struct RecordArgs {
    /// Key of the step
    pub step: String,
    /// What it was done to: N, N/J1..6, N/C3, N/O1, NE, job, or a list
    #[arg(long, value_name = "SUBJECT")]
    pub on: String,
    /// An answer; KEY@SUBJECT=VALUE for one of several subjects alone
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
        .map(|given| answer(given, &args.step, opened.book.state.sequence()))
        .collect::<Result<Vec<_>, _>>()?;
    let request = Request::Step { step: args.step.clone(), on: args.on.clone(), answers, anyway: args.why.clone() };
    site.record_and_tell(&request, out)
}

fn answer(given: &str, step: &str, sequence: &Sequence) -> Result<Given, Failure> {
    let (key, value) = given
        .split_once('=')
        .ok_or_else(|| Failure::input(format!("--answer '{given}': write KEY=VALUE, as in lean=2")))?;
    let (key, subject) = match key.split_once('@') {
        Some((key, subject)) => (key, Some(subject.to_owned())),
        None => (key, None),
    };
    let is_file = sequence.step(step).is_some_and(|step| {
        sequence.steps[step]
            .asks
            .iter()
            .any(|ask| ask.key == key && matches!(ask.kind, AskKind::Photo | AskKind::Batch))
    });
    let value = if is_file { file_or_words(value)? } else { Value::Typed(value.to_owned()) };
    Ok(Given { subject, key: key.to_owned(), value })
}

/// A photo or batch answer: a file that is there, by its digest, or else the words.
///
/// # Errors
/// [`Failure::Input`] when a file of that name is there but can't be read.
pub fn file_or_words(value: &str) -> Result<Value, Failure> {
    let path = Path::new(value.trim());
    let Ok(data) = std::fs::metadata(path) else { return Ok(Value::Typed(value.to_owned())) };
    if !data.is_file() {
        return Ok(Value::Typed(value.to_owned()));
    }
    if data.len() > MOST_FILE {
        return Err(Failure::input(format!("{value}: is larger than {} MiB", MOST_FILE / 1024 / 1024)));
    }
    let bytes = std::fs::read(path).map_err(|error| Failure::input(format!("{value}: can't be read: {error}")))?;
    let name = path.file_name().map_or_else(|| value.to_owned(), |name| name.to_string_lossy().into_owned());
    Ok(Value::File { file: name, sha256: sha256_hex(&bytes) })
}
