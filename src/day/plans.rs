//! Plans kept in the record: what a sum gave becomes what a later measurement is held against.

use std::collections::BTreeMap;

use serde_json::Value;

use super::state::State;
use crate::building::Subject;
use crate::moment::Moment;
use crate::sequence::Planned;

/// A sum that was kept.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Id of the entry.
    pub entry: String,
    /// When.
    pub at: Moment,
    /// What went in.
    pub inputs: Value,
    /// What came out, as the command prints it.
    pub result: Value,
}

impl State {
    /// The plan of a sum that is in force for a subject: its own, its wall's, or the whole job's.
    pub fn plan(&self, sum: &str, subject: usize) -> Option<&Plan> {
        let places = std::iter::once(subject).chain(self.subjects.walls_of(subject).iter().copied()).chain([0]);
        places.into_iter().find_map(|place| self.plans.get(&(sum.to_owned(), place)))
    }

    /// Every plan in force, by sum and subject.
    pub fn plans(&self) -> impl Iterator<Item = (&str, usize, &Plan)> {
        self.plans.iter().map(|((sum, subject), plan)| (sum.as_str(), *subject, plan))
    }

    /// The planned values that a step's questions are held against on a subject, by key of the ask, in mm.
    pub fn planned(&self, step: usize, subject: usize) -> BTreeMap<String, f64> {
        self.sequence().steps[step]
            .asks
            .iter()
            .filter_map(|ask| Some((ask.key.clone(), self.planned_value(ask.planned?, subject)?)))
            .collect()
    }

    fn planned_value(&self, planned: Planned, subject: usize) -> Option<f64> {
        let is = self.subjects.get(subject);
        match planned {
            Planned::StartHeight => self.plan("courses", subject)?.result.get("start_mm")?.as_f64(),
            Planned::TopRip => self.rod_of(subject)?.get("top_rip_mm")?.as_f64(),
            Planned::CourseHeight => {
                let number = is.number()? as usize;
                self.rod_of(subject)?.get("courses_mm")?.get(number - 1)?.as_f64()
            }
            Planned::JointPosition => {
                let Subject::Joint { number, .. } = is else { return None };
                self.plan("columns", subject)?.result.get("joints_mm")?.get(*number as usize - 1)?.as_f64()
            }
        }
    }

    /// What the storey rod says of the subject's wall.
    fn rod_of(&self, subject: usize) -> Option<&Value> {
        let wall = self.subjects.get(subject).wall()?;
        let walls = self.plan("courses", subject)?.result.get("walls")?.as_array()?;
        walls.iter().find(|found| found.get("key").and_then(Value::as_str) == Some(wall))
    }
}
