//! How many metres are sealed, by the job's geometry and the storey rod.

use super::state::State;
use crate::building::Subject;
use crate::day::facts::Kept;
use crate::setout::courses::Courses;

impl State {
    /// Where the cladding begins, mm over the datum: by the storey rod, where one is kept.
    pub fn foot_mm(&self, subject: usize) -> f64 {
        // The lowest line is that of every wall; the panel hangs below the start.
        let lowest = |courses: Kept<Courses>| courses.walls.first()?.courses_mm.first().copied();
        self.kept(subject).and_then(lowest).unwrap_or(0.0)
    }

    /// Metres that are sealed on a joint, round an opening (its head is left open to drain) or at both sides of a corner, to a
    /// millimetre.
    pub fn sealed_m(&self, subject: usize) -> Option<f64> {
        let job = &self.job;
        let mm = match self.subjects.get(subject) {
            Subject::Joint { wall, number } => {
                let wall = job.wall(wall)?;
                let at = wall.joints.get((*number as usize).checked_sub(1)?)?.at_mm;
                wall.joint_mm(at, self.foot_mm(subject), wall.height_mm?)
            }
            Subject::Opening { wall, key } => {
                let opening = job.wall(wall)?.openings.iter().find(|opening| opening.key == *key)?;
                let foot = opening.sill_mm.unwrap_or(0.0).max(self.foot_mm(subject));
                let sill = match opening.sill_mm {
                    Some(sill) if sill > self.foot_mm(subject) => opening.to_mm? - opening.from_mm?,
                    _ => 0.0,
                };
                2.0 * (opening.head_mm? - foot) + sill
            }
            Subject::Corner(_) => {
                let walls = self.subjects.walls_of(subject);
                let heights = walls.iter().map(|wall| {
                    let key = self.subjects.get(*wall).to_string();
                    Some(job.wall(&key)?.height_mm? - self.foot_mm(*wall))
                });
                heights.sum::<Option<f64>>()?
            }
            _ => return None,
        };
        let mm = mm.round();
        (mm > 0.0).then_some(mm / 1000.0)
    }

    /// In how many beads that is sealed: both sides of a corner, the sides and the sill of an opening.
    pub(in crate::day) fn beads(&self, subject: usize) -> u32 {
        match self.subjects.get(subject) {
            Subject::Corner(_) => 2,
            Subject::Opening { .. } => 3,
            _ => 1,
        }
    }
}
