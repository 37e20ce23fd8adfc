//! A wall as it is set out: by the plans that the job has kept, or else as its geometry gives it.

use super::state::State;
use crate::building::{Panel, SubjectIx, Subjects, Wall};
use crate::setout::boards::{Boards, BoardsError, boards};
use crate::setout::columns::{Columns, ColumnsError, columns};
use crate::setout::courses::{CoursesError, courses};
use crate::setout::exact::LengthError;
use crate::setout::framer::{Framer, framer};
use crate::setout::of_job::{
    JobError, StartRange, boards_between, boards_of, building_of, frame_of, run_of, set_out_of,
};
use crate::setout::panels::SetOut;
use crate::setout::starter::Starter;
use crate::units::number::{show, sum};

/// Why a wall can't be set out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SetOutError {
    /// The job lacks something.
    #[error(transparent)]
    Job(#[from] JobError),
    /// One end of the starter line's range is neither given nor kept.
    #[error("no {0} start is given, and the job has kept no starter line that gives one")]
    NoStart(&'static str),
    /// Its columns can't be worked out.
    #[error("wall {wall}: {error}")]
    Columns {
        /// The wall.
        wall: String,
        /// Why not.
        error: ColumnsError,
    },
    /// Its board ends can't be worked out.
    #[error("wall {wall}: {error}")]
    Boards {
        /// The wall.
        wall: String,
        /// Why not.
        error: BoardsError,
    },
    /// What the framer has to add can't be worked out.
    #[error("wall {wall}: {error}")]
    Framer {
        /// The wall.
        wall: String,
        /// Why not.
        error: LengthError,
    },
    /// A course of lapped boards whose ends can't meet on its studs.
    #[error(
        "wall {wall}: the boards of course {course} can't meet on the studs: see cladlog calc boards --wall {wall}"
    )]
    Unmet {
        /// The wall.
        wall: String,
        /// The course, counted from 1.
        course: usize,
    },
    /// The courses of the building can't be worked out.
    #[error(transparent)]
    Courses(#[from] CoursesError),
}

impl State {
    /// The range of the starter line: what is given, or else what the job has kept.
    ///
    /// # Errors
    /// [`SetOutError::NoStart`] where there is neither.
    pub fn start_range(
        &self,
        lowest_mm: Option<f64>,
        highest_mm: Option<f64>,
        overhang_mm: Option<f64>,
    ) -> Result<StartRange, SetOutError> {
        let kept = self.kept::<Starter>(Subjects::JOB);
        let bound = |given: Option<f64>, kept: Option<f64>, which| given.or(kept).ok_or(SetOutError::NoStart(which));
        let plan = self.plan("starter", Subjects::JOB);
        let overhang = || plan.and_then(|plan| plan.inputs.pointer("/rules/overhang_mm")?.as_f64());
        Ok(StartRange {
            lowest_mm: bound(lowest_mm, kept.as_ref().and_then(|line| line.lowest_mm), "lowest")?,
            highest_mm: bound(highest_mm, kept.as_ref().and_then(|line| line.highest_mm), "highest")?,
            overhang_mm: overhang_mm.or_else(overhang).unwrap_or(0.0),
        })
    }

    /// Whether the job hangs boards that lap: their ends are staggered, course by course.
    fn laps(&self) -> bool {
        self.job.panel.as_ref().is_some_and(|panel| panel.lap_mm.is_some_and(|lap| lap > 0.0))
    }

    /// What the method of the job says against the lap that is left where a course gains so much, where it says something.
    pub fn short_lap(&self, gain_mm: f64) -> Option<String> {
        let panel = self.job.panel.as_ref()?;
        let (least_mm, basis) = self.sequence().least("least-lap")?;
        let lap_mm = sum(panel.cover_mm + panel.lap_mm?, -gain_mm);
        let (lap, least) = (show(lap_mm), show(least_mm));
        (lap_mm < least_mm)
            .then(|| format!("a lap of {lap} mm is less than this job's method requires, {least} mm ({basis})"))
    }

    /// What of the job file does not fit together, or its method, a line each: it may be meant.
    pub fn doubts_about_the_job(&self) -> Vec<String> {
        let mut doubts: Vec<String> = self.job.walls.iter().filter_map(very_small).collect();
        let Some(panel) = &self.job.panel else { return doubts };
        doubts.extend(self.job.walls.iter().filter_map(|wall| self.odd_courses(wall, panel)));
        doubts.extend(self.short_lap(panel.cover_most_mm.unwrap_or(panel.cover_mm)));
        doubts
    }

    /// Whether a wall can't have as many courses as its height and the panel's cover give: where they start is not known yet,
    /// but that is within one course of the datum. Those of the storey rod that is kept are as they should be.
    fn odd_courses(&self, wall: &Wall, panel: &Panel) -> Option<String> {
        let (height, courses) = (wall.height_mm?, f64::from(wall.courses));
        let most = (height / panel.cover_mm).ceil();
        let rod = self.subjects.index(&wall.key).and_then(|place| self.rod(place));
        let as_kept = rod.is_some_and(|rod| rod.courses_mm.len() == wall.courses as usize);
        (!as_kept && panel.cover_mm > 0.0 && courses > 0.0 && (courses > most || courses < most - 1.0)).then(|| {
            let (key, cover, come_to) = (&wall.key, show(panel.cover_mm), show(courses * panel.cover_mm));
            format!(
                "wall {key}: {courses} courses of {cover} mm come to {come_to} mm, and its height is {} mm: check courses, \
                 height_mm and the panel's cover_mm",
                show(height)
            )
        })
    }

    /// A wall by its kept courses and its kept columns, or board ends, where the job has kept both.
    pub fn set_out_as_kept(&self, wall: SubjectIx) -> Option<SetOut> {
        let key = self.subjects.get(wall).to_string();
        let columns = match self.laps() {
            true => boards_between(&self.job, &key, &self.kept::<Boards>(wall)?.result).ok()?,
            false => vec![self.kept::<Columns>(wall)?.result.columns],
        };
        set_out_of(&self.job, &key, columns, self.rod(wall)?.result.courses_mm).ok()
    }

    /// The lines of a wall's courses: as kept, or else worked out for the whole building.
    ///
    /// # Errors
    /// [`SetOutError`], naming what the job lacks or what can't be worked out.
    pub fn course_lines(&self, key: &str) -> Result<Vec<f64>, SetOutError> {
        let wall = self.subjects.index(key).ok_or_else(|| JobError::NoWall(key.to_owned()))?;
        if let Some(rod) = self.rod(wall) {
            return Ok(rod.result.courses_mm);
        }
        let range = self.start_range(None, None, None)?;
        let walls = courses(&building_of(&self.job, &self.job.walls, &range)?)?.walls;
        Ok(walls.into_iter().find(|found| found.key == key).map(|found| found.courses_mm).unwrap_or_default())
    }

    /// The columns of a wall: as kept, or else worked out.
    fn columns_of(&self, wall: SubjectIx, key: &str) -> Result<Columns, SetOutError> {
        match self.kept::<Columns>(wall) {
            Some(kept) => Ok(kept.result),
            None => {
                columns(&run_of(&self.job, key)?).map_err(|error| SetOutError::Columns { wall: key.to_owned(), error })
            }
        }
    }

    /// The studs and the blocking that the framer adds behind a wall that is set out.
    ///
    /// # Errors
    /// As [`State::course_lines`].
    pub fn framer(&self, key: &str, set_out: &SetOut) -> Result<Framer, SetOutError> {
        let wall = self.subjects.index(key).ok_or_else(|| JobError::NoWall(key.to_owned()))?;
        // Ends of lapped boards meet on the studs that are there.
        let joints = if self.laps() { Vec::new() } else { self.columns_of(wall, key)?.joint_studs() };
        let frame = frame_of(&self.job, key, &joints)?;
        framer(set_out, &frame).map_err(|error| SetOutError::Framer { wall: key.to_owned(), error })
    }

    /// A wall by its kept courses and its kept columns, or board ends; what is not kept is worked out.
    ///
    /// # Errors
    /// As [`State::course_lines`].
    pub fn set_out(&self, key: &str) -> Result<SetOut, SetOutError> {
        let wall = self.subjects.index(key).ok_or_else(|| JobError::NoWall(key.to_owned()))?;
        let courses_mm = self.course_lines(key)?;
        let columns = if self.laps() {
            let boards = match self.kept::<Boards>(wall) {
                Some(kept) => kept.result,
                None => boards(&boards_of(&self.job, key, &courses_mm)?)
                    .map_err(|error| SetOutError::Boards { wall: key.to_owned(), error })?,
            };
            if let Some(unmet) = boards.unmet.first() {
                return Err(SetOutError::Unmet { wall: key.to_owned(), course: unmet.course });
            }
            boards_between(&self.job, key, &boards)?
        } else {
            vec![self.columns_of(wall, key)?.columns]
        };
        Ok(set_out_of(&self.job, key, columns, courses_mm)?)
    }
}

/// A wall with a side that no wall has: metres were written for millimetres, or a digit is missing.
fn very_small(wall: &Wall) -> Option<String> {
    const SMALL_MM: f64 = 100.0;
    let sides = [("long", wall.length_mm), ("high", wall.height_mm)];
    let (side, mm) = sides.iter().find_map(|(side, mm)| Some((side, mm.filter(|mm| *mm < SMALL_MM)?)))?;
    Some(format!("wall {} is {} mm {side}: a job file gives millimetres", wall.key, show(mm)))
}
