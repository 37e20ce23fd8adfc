//! How many metres are sealed, by the job's geometry and the storey rod.

use super::state::State;
use crate::building::{Subject, SubjectIx, Wall};
use crate::day::facts::Kept;
use crate::setout::columns::Columns;
use crate::setout::courses::Courses;
use crate::setout::of_job::{corner_at_mm, foot_and_top_mm};

impl State {
    /// Where the cladding begins, mm over the datum: by the storey rod, where one is kept.
    pub fn foot_mm(&self, subject: SubjectIx) -> f64 {
        // The lowest line is that of every wall; the panel hangs below the start.
        let lowest = |courses: Kept<Courses>| courses.walls.first()?.courses_mm.first().copied();
        self.kept(subject).and_then(lowest).unwrap_or(0.0)
    }

    /// Metres of starter line on a wall, to a millimetre.
    pub fn starter_m(&self, subject: SubjectIx) -> Option<f64> {
        let wall = self.job.wall(self.subjects.get(subject).wall()?)?;
        let lowest = self.foot_mm(subject);
        let foot = |at| foot_and_top_mm(wall, Some(at), lowest).map_or(lowest, |(foot, _)| foot);
        Some(wall.starter_mm(foot)?.round() / 1000.0)
    }

    /// Metres that are sealed on a joint, round an opening (its head is left open to drain) or at both sides of a corner, to a
    /// millimetre; `None` for what is left dry.
    pub fn sealed_m(&self, subject: SubjectIx) -> Option<f64> {
        let job = &self.job;
        if job.is_dry(self.subjects.get(subject)) {
            return None;
        }
        let mm = match self.subjects.get(subject) {
            Subject::Joint { wall, number } => {
                let wall = job.wall(wall)?;
                let at = self.joint_at_mm(subject, wall, (*number as usize).checked_sub(1)?);
                let (foot, top) = foot_and_top_mm(wall, at, self.foot_mm(subject))?;
                wall.joint_mm(at, foot, top)
            }
            Subject::Opening { wall, key } => {
                let wall = job.wall(wall)?;
                let opening = wall.openings.iter().find(|opening| opening.key == *key)?;
                let middle = opening.from_mm.zip(opening.to_mm).map(|(from, to)| (from + to) / 2.0);
                let (foot, top) = foot_and_top_mm(wall, middle, self.foot_mm(subject))?;
                opening.edges_mm(foot, top)?.sealed_mm()
            }
            Subject::Corner(key) => {
                let corner = job.corners.iter().find(|corner| corner.key == *key)?;
                let heights = self.subjects.walls_of(subject).iter().map(|place| {
                    let wall = job.wall(&self.subjects.get(*place).to_string())?;
                    let (foot, top) = foot_and_top_mm(wall, corner_at_mm(job, corner, wall), self.foot_mm(*place))?;
                    Some(top - foot)
                });
                heights.sum::<Option<f64>>()?
            }
            _ => return None,
        };
        let mm = mm.round();
        (mm > 0.0).then_some(mm / 1000.0)
    }

    /// Where a joint stands: by the columns that are kept, by the drawings, or else where it would, were they spread evenly.
    fn joint_at_mm(&self, subject: SubjectIx, wall: &Wall, place: usize) -> Option<f64> {
        let kept = self.kept::<Columns>(subject).and_then(|columns| columns.joints_mm.get(place).copied());
        let evenly = || Some(wall.length_mm? * (place + 1) as f64 / (wall.joints.len() + 1) as f64);
        kept.or(wall.joints.get(place)?.at_mm).or_else(evenly)
    }

    /// In how many beads that is sealed: both sides of a corner, the sides and the sill of an opening.
    pub(in crate::day) fn beads(&self, subject: SubjectIx) -> u32 {
        match self.subjects.get(subject) {
            Subject::Corner(_) => 2,
            Subject::Opening { .. } => 3,
            _ => 1,
        }
    }
}
