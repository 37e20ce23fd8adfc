//! Another building under the same record: what was done keeps its subject by the subject's id.

use std::sync::Arc;

use super::state::State;
use crate::building::{Job, Subject, SubjectIx, Subjects};
use crate::day::facts::KeptSum;
use crate::index::{Grid, Indexed};
use crate::materials::cuts::WallCuts;
use crate::materials::takeoff::TakeOff;
use crate::moment::Moment;
use crate::sequence::FigureRevised;
use crate::setout::boards::Boards;
use crate::setout::columns::Columns;
use crate::setout::courses::Courses;
use crate::setout::packing::Packing;
use crate::setout::panels::Panels;
use crate::units::number::show;

impl State {
    /// Takes another building into force, and the figures that came with it. What was recorded on a part that it no longer
    /// has stays in the log only; stock that went there counts as taken for the job.
    pub(in crate::day) fn revise(&mut self, job: Job, by: &str, at: Moment) {
        let subjects = job.subjects();
        let places: Indexed<Subject, Option<SubjectIx>> =
            self.subjects.all().iter().map(|part| same_part(&subjects, part)).collect();
        let place = |old: SubjectIx| places.get(old).copied().flatten();
        self.progress = Grid::new(self.sequence().steps.len(), subjects.all().len(), |step, subject| {
            let was = same_part(&self.subjects, subjects.get(subject));
            was.and_then(|was| self.progress.get_mut(step, was)).map(std::mem::take).unwrap_or_default()
        });
        let holds = std::mem::take(&mut self.holds).into_iter();
        self.holds = holds.filter_map(|((hold, subject), status)| Some(((hold, place(subject)?), status))).collect();
        let plans = std::mem::take(&mut self.plans).into_iter();
        self.plans = plans.filter_map(|((sum, subject), plan)| Some(((sum, place(subject)?), plan))).collect();
        let readings = std::mem::take(&mut self.readings).into_iter();
        self.readings = readings.filter_map(|(wall, readings)| Some((place(wall)?, readings))).collect();
        let wet = std::mem::take(&mut self.wet_or_freezing).into_iter();
        self.wet_or_freezing = wet.filter_map(|(wall, wet)| Some((place(wall)?, wet))).collect();
        for taken in &mut self.stock.taken {
            let new = place(taken.subject).unwrap_or(Subjects::JOB);
            if new != taken.subject {
                Arc::make_mut(taken).subject = new;
            }
        }
        self.subjects = subjects;
        self.figures_revised.retain(|key, _| job.figure(key).is_some());
        for figure in job.figures.iter().filter(|figure| self.job.figure(&figure.key) != Some(figure)) {
            self.figures_revised.insert(figure.key.clone(), FigureRevised { by: by.to_owned(), at });
        }
        // The record and its times go by these.
        self.job = Job { key: self.job.key.clone(), time_zone: self.job.time_zone, ..job };
        // Its steps are those of the edition: only bounds and what they rest on are others.
        let sequence = Arc::new(self.with_figures());
        if let Some(in_force) = self.editions.last_mut() {
            *in_force = sequence;
        }
        self.ask_afresh();
    }

    /// The parts with work recorded on them that a building no longer has, or has in another place.
    pub(in crate::day) fn orphaned_by(&self, job: &Job) -> Vec<String> {
        let subjects = job.subjects();
        let parts = self.subjects.all().indexed();
        let mut gone: Vec<SubjectIx> = Vec::new();
        let mut moved: Vec<String> = Vec::new();
        for (index, part) in parts.filter(|(index, part)| **part != Subject::Job && self.has_record_of(*index)) {
            match same_part(&subjects, part) {
                None => gone.push(index),
                Some(_) => moved.extend(moved_joint(part, &self.job, job)),
            }
        }
        let gone = (!gone.is_empty()).then(|| self.subjects.shortly(&gone));
        gone.into_iter().chain(moved).collect()
    }

    /// The kept sums that the building's measures went into: "columns for N".
    pub fn plans_of_the_building(&self) -> Vec<String> {
        let of_building = |sum: &str| {
            [Boards::NAME, Columns::NAME, Courses::NAME, Panels::NAME, WallCuts::NAME, TakeOff::NAME, Packing::NAME]
                .contains(&sum)
        };
        let plans = self.plans.values().filter(|plan| of_building(&plan.sum));
        plans.map(|plan| format!("{} for {}", plan.sum, plan.subject)).collect()
    }

    /// Whether anything is recorded on a subject itself.
    fn has_record_of(&self, subject: SubjectIx) -> bool {
        let id = self.subjects.get(subject).to_string();
        self.sequence().steps.indexes().any(|step| !self.done(step, subject).is_empty())
            || self.holds.keys().any(|(_, held)| *held == subject)
            || self.stock.taken.iter().any(|taken| taken.subject == subject)
            || self.readings.contains_key(&subject)
            || self.defects.iter().any(|defect| defect.subject == id)
    }
}

/// The same part in another building.
fn same_part(subjects: &Subjects, part: &Subject) -> Option<SubjectIx> {
    subjects.index(&part.to_string()).filter(|new| subjects.get(*new).kind() == part.kind())
}

/// "N/J2 (at 1200 mm, not 2400)", where a joint stands elsewhere now.
fn moved_joint(part: &Subject, before: &Job, after: &Job) -> Option<String> {
    let Subject::Joint { wall, number } = part else { return None };
    let at = |job: &Job| job.wall(wall)?.joints.get(*number as usize - 1)?.at_mm;
    let (old, new) = (at(before)?, at(after)?);
    (old != new).then(|| format!("{part} (at {} mm, not {})", show(new), show(old)))
}
