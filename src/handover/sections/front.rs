//! The verdict, and what keeps the job from being complete.

use crate::day::DefectState;
use crate::handover::model::{Document, when};
use crate::handover::page::{Block, Section, section, table};
use crate::plain::{count, visible};

/// The sentence at the top, in one of three grades.
pub fn verdict(document: &Document<'_>) -> String {
    let reservations = document.reservations.len();
    let they = if reservations == 1 { "It is" } else { "They are" };
    let conceded = document.defects.iter().filter(|(_, defect)| defect.state == DefectState::Conceded).count();
    let conceded = if conceded == 0 { String::new() } else { format!(", {conceded} left as it is by concession") };
    let all_done =
        format!("every step is recorded as done, every hold point as released, and no defect is open{conceded}");
    // What nobody has confirmed is a reservation only after two evenings, and to be known from the first.
    let (open, said) =
        (document.confirmations.iter().filter(|one| one.is_open()).count(), document.confirmations.len());
    let word = match (open, said) {
        (0, _) => String::new(),
        (1, 1) => " The one release or acceptance in somebody's name is not confirmed by them.".to_owned(),
        (1, _) => format!(
            " Of {said} releases, refusals, concessions and acceptances, one is not confirmed by the person it names."
        ),
        _ => format!(
            " Of {said} releases, refusals, concessions and acceptances, {open} are not confirmed by the people they name."
        ),
    };
    match (document.missing.len(), reservations) {
        (0, 0) if open == 0 => {
            format!("NOTHING HELD BACK: {all_done}. There is nothing else to know before you sign.")
        }
        (0, 0) => format!("NOTHING HELD BACK: {all_done}.{word}"),
        (0, _) => {
            let many = count(reservations, "reservation").to_uppercase();
            format!("COMPLETE, WITH {many}: {all_done}. {they} listed below.{word}")
        }
        (missing, _) => {
            let listed = if missing == 1 { "It is" } else { "They are" };
            format!("NOT COMPLETE: {} outstanding. {listed} listed first.", count(missing, "item"))
        }
    }
}

/// What stands under the name of the job: where it is, for whom, as of when.
pub fn about_pack(document: &Document<'_>) -> Vec<String> {
    let job = &document.state().job;
    let address = job.address.as_ref().map(|address| visible(address));
    let builder = job.builder.as_ref().map(|builder| format!("For {}", visible(builder)));
    let as_at = format!("Cladding handover pack, as at {}", when(&document.made_at));
    address.into_iter().chain(builder).chain([as_at, format!("Local time ({})", job.time_zone.name())]).collect()
}

/// What every page of a rehearsal says, so that nobody takes it for the real thing.
pub const REHEARSAL: &str =
    "REHEARSAL: this record was written with a set clock, for training or testing. It is not evidence.";

/// The first thing that a copy without names says.
pub fn withheld(document: &Document<'_>) -> Option<String> {
    let many = count(document.withheld, "name");
    let is = if document.withheld == 1 { "is" } else { "are" };
    (document.withheld > 0).then(|| {
        format!(
            "COPY FOR READING: {many} {is} withheld; roles are shown instead. The record names people and can't be \
             changed, so it is not in this copy, and nobody can verify it. The crew has the whole pack."
        )
    })
}

pub fn withheld_section(document: &Document<'_>) -> Option<Section> {
    let text = withheld(document)?;
    Some(section("withheld", "Names are withheld", vec![Block::Note { text }]))
}

/// What is missing; no section where nothing is.
pub fn missing(document: &Document<'_>) -> Option<Section> {
    let table = table(
        "Missing",
        &document.missing,
        &[
            ("What", 6, &|one| one.what.clone()),
            ("Where", 3, &|one| one.on.clone()),
            ("Status", 3, &|one| one.status.clone()),
        ],
    )?;
    Some(section("missing", "What is missing", vec![table.into()]))
}
