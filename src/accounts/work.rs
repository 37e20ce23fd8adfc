//! What a stage comes to: on which subjects its work is measured, and in what.

use super::measure::Measures;
use crate::building::Unit;
use crate::building::{SubjectIx, SubjectKind};
use crate::day::State;
use crate::sequence::{Sequence, StageIx, StepIx};

/// One subject of a stage, with the steps of the stage that are asked of it.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Index of the subject.
    pub subject: SubjectIx,
    /// Indexes of the steps.
    pub steps: Vec<StepIx>,
    /// How much it is; `None` where it can't be measured.
    pub quantity: Option<f64>,
}

/// The unit that a stage is measured in where no rate says otherwise: metres where it seals or sets the starter line,
/// square metres where it works on courses or walls, a count where only on openings or corners. `None` for what is done
/// once for the job.
pub fn unit_of(sequence: &Sequence, stage: StageIx) -> Option<Unit> {
    [Unit::M, Unit::M2, Unit::Each].into_iter().find(|unit| has_unit(sequence, stage, *unit))
}

/// The kinds of subject that a stage is measured on in a unit, where it is measured in all of `units`.
///
/// Metres are of joints, and of openings and corners that the same step does; where those are counted besides, they are
/// not measured too. A stage that sets the starter line of a wall, and hangs nothing, is measured in metres of that.
/// Courses go before whole walls.
fn kinds(sequence: &Sequence, stage: StageIx, unit: Unit, units: &[Unit]) -> Vec<SubjectKind> {
    use SubjectKind::{Corner, Course, Joint, Opening, Wall};
    let steps = || sequence.steps.iter().filter(move |step| step.stage == stage);
    let on = |kinds: &[SubjectKind]| -> Vec<SubjectKind> {
        kinds.iter().copied().filter(|kind| steps().any(|step| step.is_on(*kind))).collect()
    };
    match unit {
        Unit::M2 => {
            let surfaces = on(&[Course, Wall]);
            surfaces.into_iter().take(1).collect()
        }
        Unit::Each => on(&[Opening, Corner]),
        Unit::M => {
            let beside_joints = |kind: &SubjectKind| steps().any(|step| step.is_on(Joint) && step.is_on(*kind));
            let mut sealed: Vec<SubjectKind> = [Joint, Opening, Corner].into_iter().filter(beside_joints).collect();
            if units.contains(&Unit::Each) {
                sealed.retain(|kind| *kind == Joint);
            }
            if on(&[Course]).is_empty() && steps().any(|step| step.is_on(Wall) && step.sets_starter()) {
                sealed.push(Wall);
            }
            sealed
        }
    }
}

/// Whether a stage has work that is measured in a unit.
pub fn has_unit(sequence: &Sequence, stage: StageIx, unit: Unit) -> bool {
    !kinds(sequence, stage, unit, &[unit]).is_empty()
}

/// The pieces of a stage in a unit, in the order of the building, where it is measured in all of `units`.
pub fn pieces(state: &State, measures: &Measures, stage: StageIx, unit: Unit, units: &[Unit]) -> Vec<Piece> {
    let sequence = state.sequence();
    let kinds = kinds(sequence, stage, unit, units);
    let all = state.subjects.all().indexed();
    all.filter(|(_, subject)| kinds.contains(&subject.kind()))
        .filter_map(|(subject, is)| {
            let asked = |step: &StepIx| {
                let found = &sequence.steps[*step];
                found.stage == stage && found.is_on(is.kind()) && state.asked_of(*step, subject)
            };
            let steps: Vec<StepIx> = sequence.steps.indexes().filter(asked).collect();
            (!steps.is_empty()).then(|| Piece { subject, steps, quantity: measures.get(subject, unit) })
        })
        .collect()
}

/// The part of the building that a subject is put down to: its wall, the corner itself, or the job.
pub fn part_of(state: &State, subject: SubjectIx) -> String {
    let is = state.subjects.get(subject);
    is.wall().map_or_else(|| is.to_string(), str::to_owned)
}
