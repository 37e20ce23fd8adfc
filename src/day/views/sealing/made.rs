//! The seal plan of a job, made and ready to be kept.

use std::time::{Duration, Instant};

use super::day::{SealAsk, SealError};
use crate::day::facts::{Inputs, PLAN, Timetable};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::KeepPlan;
use crate::sealing::plan::{Day, Effort, Plan, plan};

/// The search counts its steps and ends by itself, so that a day gets the same plan on every computer; nobody waits longer than
/// this for one that is far too slow.
pub const LONGEST_SEARCH: Duration = Duration::from_secs(60);

/// A plan made from the job, with everything that is kept of it.
#[derive(Debug)]
pub struct Planned {
    /// What it was made from.
    pub inputs: Inputs,
    /// What came out.
    pub timetable: Timetable,
    /// The day as the sealing room sees it.
    pub day: Day,
    /// The plan as the sealing room sees it.
    pub plan: Plan,
}

/// Plans the sealing day of a job.
///
/// # Errors
/// [`SealError`].
pub fn planned(state: &State, ask: &SealAsk, now: Moment) -> Result<Planned, SealError> {
    let gathered = state.seal_day(ask, now)?;
    let day = gathered.inputs.day()?;
    let begun = Instant::now();
    let plan = plan(&day, Effort::default(), &mut || begun.elapsed() > LONGEST_SEARCH);
    let mut timetable = Timetable::of(&day, &plan);
    timetable.left_out.extend(gathered.unready);
    timetable.people.clone_from(&gathered.inputs.people);
    timetable.remarks = gathered.remarks;
    Ok(Planned { inputs: gathered.inputs, timetable, day, plan })
}

impl Planned {
    /// The request that keeps it on a subject.
    ///
    /// # Errors
    /// What it was made from, or what came out, has no JSON form.
    pub fn kept_on(&self, subject: &str) -> Result<KeepPlan, serde_json::Error> {
        Ok(KeepPlan {
            sum: PLAN.to_owned(),
            subject: subject.to_owned(),
            inputs: serde_json::to_value(&self.inputs)?,
            result: serde_json::to_value(&self.timetable)?,
        })
    }
}
