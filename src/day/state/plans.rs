//! Look-ups in the plans kept: what a sum gave becomes what a later measurement is held against.

use std::collections::BTreeMap;

use serde_json::Value;

use super::state::State;
use crate::building::{Subject, Subjects};
use crate::day::facts::Plan;
use crate::sequence::{PlanShown, Planned};
use crate::units::number::show;

impl State {
    /// The plan of a sum that is in force for a subject: its own, its wall's, or the whole job's.
    pub fn plan(&self, sum: &str, subject: usize) -> Option<&Plan> {
        let places =
            std::iter::once(subject).chain(self.subjects.walls_of(subject).iter().copied()).chain([Subjects::JOB]);
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

    /// What the kept plans say to a step on a subject, a line each, for whoever is about to do it.
    pub fn plan_lines(&self, step: usize, subject: usize) -> Vec<String> {
        let shows = &self.sequence().steps[step].shows;
        shows.iter().flat_map(|shown| self.lines_of(*shown, subject)).collect()
    }

    fn lines_of(&self, shown: PlanShown, subject: usize) -> Vec<String> {
        // What is done for the whole job shows every wall.
        let walls = self.subjects.exposed_walls(subject);
        let each = |line: &dyn Fn(usize, &str) -> Option<String>| {
            walls.iter().filter_map(|wall| line(*wall, &self.subjects.get(*wall).to_string())).collect()
        };
        match shown {
            PlanShown::StudsToAdd => each(&|wall, key| {
                let studs = numbers(self.plan("columns", wall)?.result.get("add_studs_mm")?);
                (!studs.is_empty()).then(|| format!("{key}: studs to add at {} mm", studs.join(", ")))
            }),
            PlanShown::StoreyRod => each(&|wall, key| {
                let rod = self.rod_of(wall)?;
                let rip = rod.get("top_rip_mm").and_then(Value::as_f64);
                let rip = rip.map_or_else(String::new, |rip| format!(", top piece {} mm", show(rip)));
                Some(format!("{key}: courses at {} mm{rip}", numbers(rod.get("courses_mm")?).join(", ")))
            }),
            PlanShown::TakeOff => self.plan("takeoff", subject).map(ordered).unwrap_or_default(),
            PlanShown::Packing => each(&|wall, key| {
                let fixings = self.plan("packing", wall)?.result.get("fixings")?.as_array()?;
                let packed: Vec<String> = fixings.iter().filter_map(packed_in_words).collect();
                Some(if packed.is_empty() {
                    format!("{key}: no packing")
                } else {
                    format!("{key}: {}", packed.join("; "))
                })
            }),
        }
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

    /// The bottoms of a wall's courses, mm over the datum, where a storey rod is kept.
    pub fn course_bottoms(&self, wall: usize) -> Option<Vec<f64>> {
        self.rod_of(wall)?.get("courses_mm")?.as_array()?.iter().map(Value::as_f64).collect()
    }

    /// What the storey rod says of the subject's wall.
    fn rod_of(&self, subject: usize) -> Option<&Value> {
        let wall = self.subjects.get(subject).wall()?;
        let walls = self.plan("courses", subject)?.result.get("walls")?.as_array()?;
        walls.iter().find(|found| found.get("key").and_then(Value::as_str) == Some(wall))
    }
}

fn numbers(list: &Value) -> Vec<String> {
    list.as_array().map(|list| list.iter().filter_map(Value::as_f64).map(show).collect()).unwrap_or_default()
}

/// "ordered: boards 2400 mm, 16 x bundle of 8 boards", a line each.
fn ordered(plan: &Plan) -> Vec<String> {
    let lines = plan.result.get("lines").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let words = |line: &Value| {
        let text = |key: &str| line.get(key).and_then(Value::as_str);
        Some(format!("ordered: {}, {} x {}", text("item")?, line.get("order")?.as_u64()?, text("sold_as")?))
    };
    lines.iter().filter_map(words).collect()
}

/// "stud 1800 at 300: 5 + 1", for a fixing that is packed at all.
fn packed_in_words(fixing: &Value) -> Option<String> {
    let number = |key: &str| fixing.get(key).and_then(Value::as_f64);
    let pack = number("pack_mm").filter(|pack| *pack > 0.0)?;
    let packers = fixing.get("packers_mm").map(numbers);
    let packers = packers.map_or_else(|| format!("{} mm, no packers fit", show(pack)), |packers| packers.join(" + "));
    Some(format!("stud {} at {}: {packers}", show(number("stud_mm")?), show(number("height_mm")?)))
}
