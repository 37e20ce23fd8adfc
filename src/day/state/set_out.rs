//! A wall as it is set out: by the plans that the job has kept, or else as its geometry gives it.

use super::state::State;
use crate::building::Subjects;
use crate::setout::columns::{Columns, ColumnsError, columns};
use crate::setout::courses::{CoursesError, courses};
use crate::setout::of_job::{JobError, StartRange, building_of, run_of, set_out_of};
use crate::setout::panels::SetOut;
use crate::setout::starter::Starter;

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

    /// A wall by its kept columns and courses, where the job has kept both.
    pub fn set_out_as_kept(&self, wall: usize) -> Option<SetOut> {
        let (columns, rod) = (self.kept::<Columns>(wall)?, self.rod(wall)?);
        let key = self.subjects.get(wall).to_string();
        set_out_of(&self.job, &key, columns.result.columns, rod.result.courses_mm).ok()
    }

    /// A wall by its kept columns and courses; what is not kept is worked out.
    ///
    /// # Errors
    /// [`SetOutError`], naming what the job lacks or what can't be worked out.
    pub fn set_out(&self, key: &str) -> Result<SetOut, SetOutError> {
        let wall = self.subjects.index(key).ok_or_else(|| JobError::NoWall(key.to_owned()))?;
        let columns = match self.kept::<Columns>(wall) {
            Some(kept) => kept.result,
            None => columns(&run_of(&self.job, key)?)
                .map_err(|error| SetOutError::Columns { wall: key.to_owned(), error })?,
        };
        let courses_mm = match self.rod(wall) {
            Some(rod) => rod.result.courses_mm,
            None => {
                let range = self.start_range(None, None, None)?;
                let walls = courses(&building_of(&self.job, &self.job.walls, &range)?)?.walls;
                walls.into_iter().find(|found| found.key == key).map(|found| found.courses_mm).unwrap_or_default()
            }
        };
        Ok(set_out_of(&self.job, key, columns.columns, courses_mm)?)
    }
}
