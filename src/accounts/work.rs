//! What a stage comes to: on which subjects its work is measured, and in what.

use super::measure::Measures;
use crate::building::SubjectKind;
use crate::building::Unit;
use crate::day::State;
use crate::sequence::Sequence;

/// One subject of a stage, with the steps of the stage that are asked of it.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Index of the subject.
    pub subject: usize,
    /// Indexes of the steps.
    pub steps: Vec<usize>,
    /// How much it is; `None` where it can't be measured.
    pub quantity: Option<f64>,
}

/// The unit that a stage is measured in where no rate says otherwise: metres where it works on joints, square metres
/// where it works on courses or walls, a count where only on openings or corners. `None` for what is done once for
/// the job.
pub fn unit_of(sequence: &Sequence, stage: usize) -> Option<Unit> {
    let has = |unit: Unit| {
        sequence.steps.iter().any(|step| step.stage == stage && step.on.iter().any(|kind| unit.measures(*kind)))
    };
    [Unit::M, Unit::M2, Unit::Each].into_iter().find(|unit| has(*unit))
}

/// The kinds of subject that a stage is measured on in a unit: courses go before whole walls.
fn kinds(sequence: &Sequence, stage: usize, unit: Unit) -> Vec<SubjectKind> {
    let mut kinds: Vec<SubjectKind> = sequence
        .steps
        .iter()
        .filter(|step| step.stage == stage)
        .flat_map(|step| step.on.iter().copied().filter(|kind| unit.measures(*kind)))
        .collect();
    if kinds.contains(&SubjectKind::Course) {
        kinds.retain(|kind| *kind != SubjectKind::Wall);
    }
    kinds
}

/// Whether a stage has work that is measured in a unit.
pub fn has_unit(sequence: &Sequence, stage: usize, unit: Unit) -> bool {
    !kinds(sequence, stage, unit).is_empty()
}

/// The pieces of a stage in a unit, in the order of the building.
pub fn pieces(state: &State, measures: &Measures, stage: usize, unit: Unit) -> Vec<Piece> {
    let sequence = state.sequence();
    let kinds = kinds(sequence, stage, unit);
    let all = state.subjects.all().iter().enumerate();
    all.filter(|(_, subject)| kinds.contains(&subject.kind()))
        .filter_map(|(subject, is)| {
            let asked = |step: &usize| {
                let found = &sequence.steps[*step];
                found.stage == stage && found.is_on(is.kind()) && state.asked_of(*step, subject)
            };
            let steps: Vec<usize> = (0..sequence.steps.len()).filter(asked).collect();
            (!steps.is_empty()).then(|| Piece { subject, steps, quantity: measures.get(subject) })
        })
        .collect()
}

/// The part of the building that a subject is put down to: its wall, the corner itself, or the job.
pub fn part_of(state: &State, subject: usize) -> String {
    let is = state.subjects.get(subject);
    is.wall().map_or_else(|| is.to_string(), str::to_owned)
}
