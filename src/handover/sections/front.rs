//! The verdict, and what keeps the job from being complete.

use crate::handover::model::Document;
use crate::handover::page::{Block, Section, section, table};
use crate::plain::count;

/// The sentence at the top, in one of three grades.
pub fn verdict(document: &Document<'_>) -> String {
    let reservations = document.reservations.len();
    let they = if reservations == 1 { "It is" } else { "They are" };
    match (document.missing.len(), reservations) {
        (0, 0) => {
            "NOTHING HELD BACK: every step is recorded as done, every hold point as released, no defect is open, and \
             there is nothing else to know before you sign."
                .to_owned()
        }
        (0, _) => format!(
            "COMPLETE, WITH {}: every step is recorded as done, every hold point as released, and no defect is open. \
             {they} listed below.",
            count(reservations, "reservation").to_uppercase()
        ),
        (missing, _) => {
            let listed = if missing == 1 { "It is" } else { "They are" };
            format!("NOT COMPLETE: {} outstanding. {listed} listed first.", count(missing, "item"))
        }
    }
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
    Some(section("missing", "What is missing", vec![table]))
}
