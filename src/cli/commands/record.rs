//! `cladlog record`: a step done on a subject.

use clap::Args;

use super::Anyway;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::photos::{batch_answer, photo_answer};
use crate::cli::site::{Site, print};
use crate::day::{RecordStep, State, Value};
use crate::sequence::AskKind;

/// Record a step done on a subject
#[derive(Debug, Args)]
pub struct RecordArgs {
    #[command(flatten)]
    step: RecordStep,
    #[command(flatten)]
    anyway: Anyway,
}

pub fn run(args: &RecordArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let mut step = args.step.clone();
    step.anyway.clone_from(&args.anyway.why);
    take_files(&mut step, &journal.book().state)?;
    let recorded = site.record_in(&mut journal, &[&step])?;
    print(&recorded, journal.book(), out)
}

/// Takes the photos among the answers, by their files.
fn take_files(request: &mut RecordStep, state: &State) -> Result<(), Failure> {
    let (sequence, zone) = (state.sequence(), state.job.time_zone);
    let Some(step) = sequence.step(&request.step).map(|step| &sequence.steps[step]) else { return Ok(()) };
    for given in &mut request.answers {
        let Value::Typed(text) = &given.value else { continue };
        given.value = match step.asks.iter().find(|ask| ask.key == given.key).map(|ask| ask.kind) {
            Some(AskKind::Photo) => photo_answer(&given.key, text, zone)?,
            Some(AskKind::Batch) => batch_answer(text, zone)?,
            _ => continue,
        };
    }
    Ok(())
}
