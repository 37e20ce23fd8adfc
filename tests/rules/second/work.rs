//! The parts of the building, what was done on them, and whether it still holds.

use cladlog::building::{Subject, SubjectKind};
use cladlog::record::Body;
use cladlog::sequence::StepIx;

use super::days::Day;
use super::{Place, Second};

impl Second<'_> {
    pub(super) fn subject(&self, id: &str) -> &Subject {
        self.subjects.iter().find(|subject| subject.to_string() == id).unwrap()
    }

    /// The walls that a subject stands on; every wall for the job.
    pub(super) fn walls(&self, on: &Subject) -> Vec<String> {
        match on {
            Subject::Job => self.job.walls.iter().map(|wall| wall.key.clone()).collect(),
            Subject::Corner(key) => self.job.corners.iter().find(|corner| corner.key == *key).unwrap().walls.clone(),
            other => other.wall().map(str::to_owned).into_iter().collect(),
        }
    }

    /// Whether one of two subjects is part of the other, or both are on one wall.
    pub(super) fn belong(&self, one: &Subject, other: &Subject) -> bool {
        if one.kind() == other.kind() {
            return one == other;
        }
        *one == Subject::Job
            || *other == Subject::Job
            || self.walls(one).iter().any(|wall| self.walls(other).contains(wall))
    }

    /// The subjects on which a step has to be done before something is done on `on`.
    pub(super) fn related(&self, step: StepIx, on: &Subject) -> impl Iterator<Item = &Subject> {
        let kinds: &[SubjectKind] = &self.sequence.steps[step].on;
        let own = on.kind();
        let all = self.subjects.iter().filter(move |other| match kinds.contains(&own) {
            true => other.kind() == own,
            false => kinds.contains(&other.kind()),
        });
        all.filter(move |other| self.belong(other, on) && self.sequence.asked_of(step, other, self.job))
    }

    /// The courses or joints of a subject's wall.
    pub(super) fn row(&self, on: &Subject) -> impl Iterator<Item = &Subject> {
        self.subjects.iter().filter(move |other| other.kind() == on.kind() && other.wall() == on.wall())
    }

    /// The one that comes before a subject where a step is done in turn.
    pub(super) fn below(&self, step: StepIx, on: &Subject) -> Option<&Subject> {
        let lower =
            self.row(on).filter(|other| other.number() < on.number() && self.sequence.asked_of(step, other, self.job));
        lower.max_by_key(|other| other.number())
    }

    /// The entries before a place by which a step was done on a subject, oldest first.
    pub(super) fn work(&self, step: StepIx, on: &Subject, before: usize) -> Vec<usize> {
        let (key, on) = (&self.sequence.steps[step].key, on.to_string());
        let is_it =
            |at: &usize| matches!(&self.entries[*at].body, Body::StepDone(it) if it.step == *key && it.subject == on);
        (0..before).filter(is_it).collect()
    }

    pub(super) fn is_complete(&self, step: StepIx, on: &Subject, place: Place) -> bool {
        let Some(last) = self.work(step, on, place.before).last().copied() else { return false };
        let date = self.entries[last].happened_at.date();
        let later_day = |day: &Day| day.from <= place.at && day.from.date() > date;
        let is_old = self.sequence.steps[step].daily && self.days(place.before).iter().any(later_day);
        !is_old
            && !self.is_wrong(last, place.before)
            && !self.is_undone(step, on, last, place)
            && !self.is_spoiled(step, on, place)
            && !self.is_begun_again(step, on, last, place)
    }

    /// Whether the step that a window begins with was done again since.
    pub(super) fn is_undone(&self, step: StepIx, on: &Subject, done: usize, place: Place) -> bool {
        let mut begun_by = self.sequence.windows.iter().filter(|window| window.to == step);
        begun_by.any(|window| self.work(window.from, on, place.before).last().is_some_and(|from| *from > done))
    }

    /// Whether a window that names a step as the one to begin again with lapsed unused since.
    fn is_begun_again(&self, step: StepIx, on: &Subject, done: usize, place: Place) -> bool {
        self.sequence.windows.iter().filter(|window| window.redo_from == Some(step)).any(|window| {
            let began = self.work(window.from, on, place.before).last().copied();
            began.is_some_and(|began| began > done)
                && self.running(window, on, place).is_some_and(|run| run.lapsed(place.at))
        })
    }

    /// Whether the window that a step begins lapsed unused, or was used by work that has to come out again.
    pub(super) fn is_spoiled(&self, step: StepIx, on: &Subject, place: Place) -> bool {
        self.sequence.windows.iter().filter(|window| window.from == step).any(|window| {
            let Some(from) = self.work(step, on, place.before).last().copied() else { return false };
            match self.work(window.to, on, place.before).last() {
                Some(to) if *to > from => self.is_spoiled(window.to, on, place),
                _ => self.run(window, on, from, place).lapsed(place.at),
            }
        })
    }
}
