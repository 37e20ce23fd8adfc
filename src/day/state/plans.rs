//! Look-ups in the plans kept: what a sum gave becomes what a later measurement is held against.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::state::State;
use crate::building::{Subject, SubjectIx, Subjects};
use crate::day::facts::{Kept, KeptSum, Plan};
use crate::materials::of_job::pieces_of;
use crate::materials::takeoff::TakeOff;
use crate::sequence::{PlanShown, Planned, StepIx};
use crate::setout::boards::Boards;
use crate::setout::columns::Columns;
use crate::setout::courses::{Courses, WallCourses};
use crate::setout::of_job::gaps_of;
use crate::setout::packing::{PackedFixing, Packing};
use crate::setout::panels::panels;
use crate::setout::starter::{Place, Starter};
use crate::units::number::show_mm;

impl State {
    /// The plan of a sum that is in force for a subject: its own, its wall's, or the whole job's.
    pub fn plan(&self, sum: &str, subject: SubjectIx) -> Option<&Plan> {
        let places =
            std::iter::once(subject).chain(self.subjects.walls_of(subject).iter().copied()).chain([Subjects::JOB]);
        places.into_iter().find_map(|place| self.plans.get(&(sum.to_owned(), place)))
    }

    /// The result in force for a subject: its own, its wall's, or the whole job's.
    pub fn kept<T: KeptSum + DeserializeOwned>(&self, subject: SubjectIx) -> Option<Kept<T>> {
        Kept::read(self.plan(T::NAME, subject)?)
    }

    /// The result kept for a subject itself.
    pub fn kept_for<T: KeptSum + DeserializeOwned>(&self, subject: SubjectIx) -> Option<Kept<T>> {
        Kept::read(self.plans.get(&(T::NAME.to_owned(), subject))?)
    }

    /// Every result of a sum that is in force: the whole job's, then those of other subjects in the order of the building.
    pub fn all_kept<T: KeptSum + DeserializeOwned>(&self) -> Vec<Kept<T>> {
        let kept = self.plans.iter().filter(|((sum, _), _)| sum == T::NAME);
        kept.filter_map(|(_, plan)| Kept::read(plan)).collect()
    }

    /// The storey rod of a subject's wall, where one is kept.
    pub fn rod(&self, subject: SubjectIx) -> Option<Kept<WallCourses>> {
        let wall = self.subjects.get(subject).wall()?;
        self.kept::<Courses>(subject)?.part(|courses| courses.walls.into_iter().find(|found| found.key == wall))
    }

    /// The readings that the starter line kept for a wall was worked out from, of every wall that it was worked out for.
    pub fn starter_readings(&self, wall: SubjectIx) -> Vec<Place> {
        let places = self.plan(Starter::NAME, wall).and_then(|plan| plan.inputs.get("places"));
        places.and_then(|places| Vec::deserialize(places).ok()).unwrap_or_default()
    }

    /// The planned values that a step's questions are held against on a subject, by key of the ask, in mm.
    pub fn planned(&self, step: StepIx, subject: SubjectIx) -> BTreeMap<String, f64> {
        self.sequence().steps[step]
            .asks
            .iter()
            .filter_map(|ask| Some((ask.key.clone(), self.planned_value(ask.planned?, subject)?)))
            .collect()
    }

    /// What a step shows to whoever is about to do it on a subject, a line each, with a word for what it is.
    pub fn shown_before(&self, step: StepIx, subject: SubjectIx) -> Vec<(&'static str, String)> {
        let shown = |shown: &PlanShown| {
            let what = if *shown == PlanShown::PapersLacking { "Not among the job's papers" } else { "Plan" };
            self.lines_of(*shown, subject).into_iter().map(move |line| (what, line))
        };
        self.sequence().steps[step].shows.iter().flat_map(shown).collect()
    }

    fn lines_of(&self, shown: PlanShown, subject: SubjectIx) -> Vec<String> {
        // What is done for the whole job shows every wall.
        let walls = self.subjects.exposed_walls(subject);
        let each = |line: &dyn Fn(SubjectIx, &str) -> Option<String>| {
            walls.iter().filter_map(|wall| line(*wall, &self.subjects.get(*wall).to_string())).collect()
        };
        match shown {
            PlanShown::StudsToAdd => each(&|wall, key| {
                let studs = self.kept::<Columns>(wall)?.result.add_studs_mm;
                (!studs.is_empty()).then(|| format!("{key}: studs to add at {} mm", listed(&studs, ", ")))
            }),
            PlanShown::StoreyRod => each(&|wall, key| {
                let rod = self.rod(wall)?;
                if let Subject::Course { number, .. } = self.subjects.get(subject) {
                    let number = usize::try_from(*number).ok()?;
                    let bottom = rod.courses_mm.get(number.checked_sub(1)?)?;
                    let next =
                        rod.courses_mm.get(number).map(|next| format!(", the next course at {} mm", show_mm(*next)));
                    return Some(format!(
                        "bottom of {key}/C{number} at {} mm{}",
                        show_mm(*bottom),
                        next.unwrap_or_default()
                    ));
                }
                let rip = rod.top_rip_mm.map_or_else(String::new, |rip| format!(", top piece {} mm", show_mm(rip)));
                Some(format!("{key}: courses at {} mm{rip}", listed(&rod.courses_mm, ", ")))
            }),
            PlanShown::Pieces => self.pieces_in_words(subject).unwrap_or_default(),
            PlanShown::TakeOff => {
                let lines = self.kept::<TakeOff>(subject).map(|kept| kept.result.lines).unwrap_or_default();
                lines.iter().map(|it| format!("ordered: {}, {} x {}", it.item, it.order, it.sold_as)).collect()
            }
            PlanShown::PapersLacking => {
                self.sequence().papers_lacking(&self.job).map(|title| format!("{title}.")).collect()
            }
            PlanShown::Packing => each(&|wall, key| {
                let packing = self.kept::<Packing>(wall)?;
                let packed: Vec<String> = packing.fixings.iter().filter_map(packed_in_words).collect();
                Some(if packed.is_empty() {
                    format!("{key}: no packing")
                } else {
                    format!("{key}: {}", packed.join("; "))
                })
            }),
        }
    }

    /// The pieces of a course as the cut plan labels them: "N/C3-2: 2390 mm; notch 1210 x 41 at 300, 0".
    fn pieces_in_words(&self, subject: SubjectIx) -> Option<Vec<String>> {
        let Subject::Course { wall, number } = self.subjects.get(subject) else { return None };
        let set_out = self.set_out_as_kept(*self.subjects.walls_of(subject).first()?)?;
        let mut all = panels(&set_out).ok()?;
        all.pieces.retain(|piece| piece.course == *number as usize);
        let (pieces, notes) = pieces_of(wall, &all);
        let words = |label: &str, length_mm: u32| {
            let note = notes.get(label).map_or_else(String::new, |note| format!("; {note}"));
            format!("{label}: {length_mm} mm{note}")
        };
        Some(pieces.iter().map(|piece| words(&piece.label, piece.length_mm)).collect())
    }

    /// How high the board under a sill is notched: from the sill less its gap to the top of that board, where it is notched.
    fn sill_notch_mm(&self, subject: SubjectIx) -> Option<f64> {
        let Subject::Opening { wall, key } = self.subjects.get(subject) else { return None };
        let found = self.job.wall(wall)?.openings.iter().find(|opening| opening.key == *key)?;
        let (rod, panel) = (self.rod(subject)?, self.job.panel.as_ref()?);
        let edge = found.sill_mm? - gaps_of(panel).sill_gap_mm;
        let line = rod.courses_mm.iter().copied().rfind(|line| *line < edge)?;
        Some(line + panel.board_height_mm() - edge).filter(|notch| *notch > 0.0)
    }

    fn planned_value(&self, planned: Planned, subject: SubjectIx) -> Option<f64> {
        let is = self.subjects.get(subject);
        match planned {
            Planned::StartHeight => Some(self.kept::<Courses>(subject)?.start_mm),
            Planned::TopRip => self.rod(subject)?.top_rip_mm,
            Planned::CourseHeight => {
                let number = is.number()? as usize;
                self.rod(subject)?.courses_mm.get(number - 1).copied()
            }
            Planned::BoardEnd => {
                let number = is.number()? as usize;
                let boards = self.kept::<Boards>(subject)?;
                boards.courses.get(number.checked_sub(1)?)?.joints_mm.first().copied()
            }
            Planned::SillNotch => self.sill_notch_mm(subject),
            Planned::JointPosition => {
                let Subject::Joint { number, .. } = is else { return None };
                self.kept::<Columns>(subject)?.joints_mm.get(*number as usize - 1).copied()
            }
        }
    }

    /// The number of the course that goes over the head of an opening, where a storey rod is kept and the head is known.
    pub(in crate::day) fn course_over_head(&self, opening: SubjectIx) -> Option<u32> {
        let Subject::Opening { wall, key } = self.subjects.get(opening) else { return None };
        let found = self.job.wall(wall)?.openings.iter().find(|opening| opening.key == *key)?;
        let (head, rod) = (found.head_mm?, self.rod(opening)?);
        u32::try_from(rod.courses_mm.iter().filter(|bottom| **bottom <= head).count()).ok()
    }
}

fn listed(lengths_mm: &[f64], between: &str) -> String {
    lengths_mm.iter().map(|length| show_mm(*length)).collect::<Vec<_>>().join(between)
}

/// "stud 1800 at 300: 5 + 1", for a fixing that is packed at all.
fn packed_in_words(fixing: &PackedFixing) -> Option<String> {
    if fixing.pack_mm <= 0.0 {
        return None;
    }
    let packers = fixing.packers_mm.as_deref().map(|packers| listed(packers, " + "));
    let packers = packers.unwrap_or_else(|| format!("{} mm, no packers fit", show_mm(fixing.pack_mm)));
    Some(format!("stud {} at {}: {packers}", show_mm(fixing.stud_mm), show_mm(fixing.height_mm)))
}
