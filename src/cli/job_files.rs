//! Job files and sequence files, found, and read with the place of every mistake.

use std::path::Path;

use super::failure::Failure;
use super::input::{mistakes_in, read_text};
use crate::accounts::claim::rates_that_do_not_fit;
use crate::building::{Job, JobFile, Rate, read_job_file, read_rates};
use crate::sequence::{self, Sequence};

/// Reads a job file, with its rates, and the sequence that it names.
pub fn from_file(file: &Path) -> Result<(Job, Sequence, Vec<Rate>), Failure> {
    from_text(file, &read_text(file)?)
}

/// The same from the text of a file.
pub fn from_text(file: &Path, text: &str) -> Result<(Job, Sequence, Vec<Rate>), Failure> {
    let JobFile { job, sequence, rates } = read(file, text)?;
    let sequence = find_sequence(&sequence, file.parent().unwrap_or(Path::new("")))?;
    check_rates(file, &sequence, &rates)?;
    Ok((job, sequence, rates))
}

/// Reads the job of a job file.
pub fn job_from_file(file: &Path) -> Result<Job, Failure> {
    read(file, &read_text(file)?).map(|file| file.job)
}

/// Reads the rates of a job file, or of a file of rates alone, for a job on this sequence.
pub fn rates_from_file(file: &Path, sequence: &Sequence) -> Result<Vec<Rate>, Failure> {
    let rates = read_rates(&read_text(file)?).map_err(|mistakes| mistakes_in(file, &mistakes))?;
    check_rates(file, sequence, &rates)?;
    Ok(rates)
}

fn read(file: &Path, text: &str) -> Result<JobFile, Failure> {
    read_job_file(text).map_err(|mistakes| mistakes_in(file, &mistakes))
}

fn check_rates(file: &Path, sequence: &Sequence, rates: &[Rate]) -> Result<(), Failure> {
    match rates_that_do_not_fit(sequence, rates) {
        errors if errors.is_empty() => Ok(()),
        errors => Err(Failure::input(format!("{}: {}", file.display(), errors.join("; ")))),
    }
}

/// The shipped sequence of a key, or the one in a file, looked for beside the job file.
pub fn find_sequence(named: &str, beside: &Path) -> Result<Sequence, Failure> {
    if let Some(text) = sequence::shipped(named) {
        return sequence::read(text).map_err(|mistakes| mistakes_in(Path::new(named), &mistakes));
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
    let text = read_text(&path)?;
    sequence::read(&text).map_err(|mistakes| mistakes_in(&path, &mistakes))
}
