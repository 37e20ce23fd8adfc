//! Job files and sequence files, found and read with every mistake told.

use std::path::Path;

use super::{Failure, input};
use crate::accounts::claim::rates_that_do_not_fit;
use crate::building::{Job, Rate, read_job, read_rates, sequence_named};
use crate::form::Mistake;
use crate::sequence::{self, Sequence};

/// Reads a job file and the sequence that it names.
///
/// # Errors
/// [`Failure::Input`] with every mistake of either file.
pub fn from_file(file: &Path) -> Result<(Job, Sequence), Failure> {
    let text = input::read_text(file)?;
    let job = read_job(&text);
    let sequence = sequence_named(&text).map(|named| find_sequence(&named, file.parent().unwrap_or(Path::new(""))));
    match (job, sequence) {
        (Ok(job), Some(Ok(sequence))) => Ok((job, sequence)),
        (Err(mistakes), _) => Err(mistakes_in(&file.display().to_string(), &mistakes)),
        (Ok(_), Some(Err(failure))) => Err(failure),
        (Ok(_), None) => Err(Failure::input(format!("{}: names no sequence", file.display()))),
    }
}

/// Reads the rates of a job file, for a job on this sequence.
///
/// # Errors
/// [`Failure::Input`] with every mistake.
pub fn rates_from_file(file: &Path, sequence: &Sequence) -> Result<Vec<Rate>, Failure> {
    let text = input::read_text(file)?;
    let rates = read_rates(&text).map_err(|mistakes| mistakes_in(&file.display().to_string(), &mistakes))?;
    let errors = rates_that_do_not_fit(sequence, &rates);
    if errors.is_empty() {
        Ok(rates)
    } else {
        Err(Failure::input(format!("{}: {}", file.display(), errors.join("; "))))
    }
}

/// The shipped sequence of a key, or the one in a file, looked for beside the job file.
///
/// # Errors
/// [`Failure::Input`] when it is neither, or has mistakes.
pub fn find_sequence(named: &str, beside: &Path) -> Result<Sequence, Failure> {
    if let Some(text) = sequence::shipped(named) {
        return sequence::read(text).map_err(|mistakes| mistakes_in(named, &mistakes));
    }
    let path = beside.join(named);
    if !path.is_file() {
        let keys: Vec<&str> = sequence::SHIPPED.iter().map(|(key, _)| *key).collect();
        return Err(Failure::input(format!(
            "there is no sequence '{}': it is neither a file nor one of {}",
            crate::units::number::shortened(named),
            keys.join(", ")
        )));
    }
    let text = input::read_text(&path)?;
    sequence::read(&text).map_err(|mistakes| mistakes_in(&path.display().to_string(), &mistakes))
}

/// The mistakes of a file as one failure.
pub fn mistakes_in(file: &str, mistakes: &[Mistake]) -> Failure {
    let lines: Vec<String> = mistakes.iter().map(|mistake| mistake.in_file(file)).collect();
    Failure::input(lines.join("\n"))
}
