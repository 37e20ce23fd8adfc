//! Edges of the cladding that are open to rain.

use crate::building::{SubjectIx, SubjectKind};
use crate::day::state::State;
use crate::moment::Moment;
use crate::sequence::StepIx;

/// A wall that is part clad.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenEdge {
    /// Index of the wall.
    pub wall: SubjectIx,
    /// Number of the lowest course that is not hung, from 1; none where all are.
    pub lowest_open: Option<usize>,
    /// How many courses the wall has.
    pub courses: usize,
    /// Indexes of its joints, its openings and the corners at its ends on which a step is still to be completed.
    pub unfinished: Vec<SubjectIx>,
}

impl State {
    /// The walls that are part clad, with what of them is open to rain.
    ///
    /// A course is hung once a step that goes up course by course is done on it; where no step does, any step on it.
    pub fn open_edges(&self, now: Moment) -> Vec<OpenEdge> {
        let steps = &self.sequence().steps;
        let on = |kind: SubjectKind| steps.indexes().filter(move |step| steps[*step].is_on(kind));
        let in_turn: Vec<StepIx> = on(SubjectKind::Course).filter(|step| steps[*step].in_turn).collect();
        let hanging = if in_turn.is_empty() { on(SubjectKind::Course).collect() } else { in_turn };
        let is_hung = |course: &SubjectIx| hanging.iter().any(|step| !self.done(*step, *course).is_empty());
        let is_open = |place: &SubjectIx| {
            steps.indexes().any(|step| self.asked_of(step, *place) && !self.complete(step, *place, now))
        };
        let edge = |wall: &SubjectIx| {
            let courses = self.subjects.related(*wall, SubjectKind::Course);
            let places = [SubjectKind::Joint, SubjectKind::Opening, SubjectKind::Corner].into_iter();
            let places = places.flat_map(|kind| self.subjects.related(*wall, kind));
            let unfinished: Vec<SubjectIx> = places.copied().filter(is_open).collect();
            let lowest_open = courses.iter().position(|course| !is_hung(course)).map(|place| place + 1);
            let is_begun = courses.iter().any(is_hung) && (lowest_open.is_some() || !unfinished.is_empty());
            is_begun.then_some(OpenEdge { wall: *wall, lowest_open, courses: courses.len(), unfinished })
        };
        self.subjects.all_walls().iter().filter_map(edge).collect()
    }
}
