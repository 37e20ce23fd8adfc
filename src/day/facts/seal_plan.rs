//! What goes into a seal plan and what comes out, as the record keeps them.

use super::fact::Plan as KeptPlan;
use crate::moment::Moment;
use crate::record::EntryId;
use crate::sealing::plan::{Day, DayErrors, GivenDay, Plan, PlannedJoint};
use serde::{Deserialize, Serialize};

/// The name of the sum in the record.
pub const PLAN: &str = "sealplan";

/// Everything that a seal plan of a job is made from; the keys are those of the file of `calc sealplan`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inputs {
    /// The sealing day.
    #[serde(flatten)]
    pub day: GivenDay,
    /// The people; person 1 is the first.
    pub people: Vec<String>,
    /// The entry of the forecast that it was made with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast: Option<EntryId>,
    /// What rates, margin and window rest on.
    pub basis: Vec<String>,
}

/// When one joint is worked on, and by whom (people count from 1).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JointRow {
    /// The joint.
    pub id: String,
    /// Start of masking.
    pub mask_at: Moment,
    /// Start of priming.
    pub prime_at: Moment,
    /// Start of gunning.
    pub gun_at: Moment,
    /// Start of taking the tape off.
    pub tape_off_at: Moment,
    /// When the tape is off.
    pub done_at: Moment,
    /// Who masks and primes; absent where it was primed before the plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primed_by: Option<usize>,
    /// Who guns and takes the tape off.
    pub gunned_by: usize,
}

/// A joint that is left out, and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftRow {
    /// The joint.
    pub id: String,
    /// Why.
    pub why: String,
}

/// A seal plan, as `calc sealplan` prints it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Timetable {
    /// The joints that are sealed.
    pub joints: Vec<JointRow>,
    /// The joints that are not.
    pub left_out: Vec<LeftRow>,
    /// When the last joint is done; absent when nothing is planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finish_at: Option<Moment>,
    /// Whether no plan is better: proved.
    #[serde(default)]
    pub proven: bool,
    /// The people by their numbers, where they have names.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub people: Vec<String>,
    /// What a lead should know besides.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

/// A seal plan that the record keeps.
#[derive(Debug, Clone)]
pub struct SealPlan {
    /// The entry.
    pub entry: EntryId,
    /// When it was kept.
    pub at: Moment,
    /// What it was made from.
    pub inputs: Inputs,
    /// What came out.
    pub timetable: Timetable,
}

impl SealPlan {
    /// A sum that was kept, read as a seal plan; `None` for another sum, and for a plan that was not made from a job.
    pub fn read(plan: &KeptPlan) -> Option<Self> {
        if plan.sum != PLAN {
            return None;
        }
        let inputs = serde_json::from_value(plan.inputs.clone()).ok()?;
        let timetable = serde_json::from_value(plan.result.clone()).ok()?;
        Some(Self { entry: plan.entry.clone(), at: plan.at, inputs, timetable })
    }

    /// The day and the plan as the sealing room draws and lists them; `None` when the two don't fit.
    pub fn drawn(&self) -> Option<(Day, Plan)> {
        let day = self.inputs.day().ok()?;
        let minute = |at: Moment| i32::try_from((at - day.origin).num_minutes()).ok();
        let mut plan = Plan { proven: self.timetable.proven, ..Plan::default() };
        for row in &self.timetable.joints {
            plan.joints.push(PlannedJoint {
                joint: day.joints.iter().position(|joint| joint.id == row.id)?,
                mask_at: minute(row.mask_at)?,
                prime_at: minute(row.prime_at)?,
                gun_at: minute(row.gun_at)?,
                tape_off_at: minute(row.tape_off_at)?,
                done_at: minute(row.done_at)?,
                primed_by: row.primed_by,
                gunned_by: row.gunned_by,
            });
        }
        Some((day, plan))
    }
}

impl Inputs {
    /// The day, checked.
    ///
    /// # Errors
    /// [`DayErrors`] as [`Day::new`].
    pub fn day(&self) -> Result<Day, DayErrors> {
        let crew = i64::try_from(self.people.len()).unwrap_or(i64::MAX);
        Day::new(&GivenDay { crew, ..self.day.clone() })
    }
}

impl Timetable {
    /// A plan as it is printed.
    pub fn of(day: &Day, plan: &Plan) -> Self {
        let id = |joint: usize| day.joints.get(joint).map_or_else(String::new, |joint| joint.id.clone());
        let row = |joint: &PlannedJoint| JointRow {
            id: id(joint.joint),
            mask_at: day.moment(joint.mask_at),
            prime_at: day.moment(joint.prime_at),
            gun_at: day.moment(joint.gun_at),
            tape_off_at: day.moment(joint.tape_off_at),
            done_at: day.moment(joint.done_at),
            primed_by: joint.primed_by,
            gunned_by: joint.gunned_by,
        };
        Self {
            joints: plan.joints.iter().map(row).collect(),
            left_out: plan.left_out.iter().map(|l| LeftRow { id: id(l.joint), why: l.why.clone() }).collect(),
            finish_at: plan.finish().map(|minute| day.moment(minute)),
            proven: plan.proven,
            people: Vec::new(),
            remarks: Vec::new(),
        }
    }
}
