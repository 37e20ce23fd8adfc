//! How far the day has come by the kept plan, what comes next by it, and whether the day has slipped.

use chrono::TimeDelta;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

use crate::building::SubjectIx;
use crate::day::facts::SealPlan;
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::sealing::plan::{Stint, Task};
use crate::sequence::{Sealing, StepIx};

/// One task that the plan asks of one person.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedTask {
    /// When it begins.
    pub at: Moment,
    /// When it ends.
    #[serde(rename = "until")]
    pub until: Moment,
    /// Who does it.
    pub person: String,
    /// What is done: mask, prime, gun, tape off.
    pub task: Task,
    /// The joint.
    pub subject: String,
    /// Index of the joint.
    #[serde(skip)]
    pub place: SubjectIx,
    /// Index of the step.
    #[serde(skip)]
    pub step: StepIx,
    /// Whether it stands done.
    #[serde(skip)]
    pub done: bool,
}

/// The kept plan, as far as it is still to be followed.
#[derive(Debug, Clone)]
pub struct ActivePlan<'s> {
    /// The plan.
    pub plan: &'s SealPlan,
    /// Everything that it asks for, in time, what is done included.
    pub tasks: Vec<PlannedTask>,
    /// What it does not hold by any more, and that in words.
    pub slipped: Option<(Slip, String)>,
}

/// What a plan does not hold by any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Rain that the plan did not foresee: on this wall, then.
    Rain(SubjectIx, Moment),
    /// Rain from then by a newer forecast.
    Forecast(Moment),
    /// A step on a subject is late.
    Late(StepIx, SubjectIx),
}

impl PlannedTask {
    /// "11:05 Jonah primes N/J2".
    pub fn in_words(&self, today: chrono::NaiveDate) -> String {
        format!("{} {} {}", self.at.clock(today), self.person, self.doing())
    }

    /// "primes N/J2".
    pub fn doing(&self) -> String {
        let subject = &self.subject;
        match self.task {
            Task::Mask => format!("masks {subject}"),
            Task::Prime => format!("primes {subject}"),
            Task::Gun => format!("guns {subject}"),
            Task::TapeOff => format!("takes the tape off {subject}"),
        }
    }
}

impl ActivePlan<'_> {
    /// What is still to be done, in time.
    pub fn left(&self) -> impl Iterator<Item = &PlannedTask> {
        self.tasks.iter().filter(|task| !task.done)
    }

    /// What the plan says of a step on a subject, while it is still to be done.
    pub fn of(&self, step: StepIx, place: SubjectIx) -> Option<&PlannedTask> {
        self.left().find(|task| task.step == step && task.place == place)
    }
}

/// The least that a task may be late before the day counts as slipped.
const LEAST_SLACK_MIN: f64 = 5.0;
/// The most that a task may be late before the day counts as slipped.
const MOST_SLACK_MIN: f64 = 30.0;

impl State {
    /// The kept seal plan at `now`, while it is still to be followed: with something left of it, until its day is over,
    /// or its end where that lies past midnight.
    pub fn active_plan(&self, now: Moment) -> Option<ActivePlan<'_>> {
        let plan = self.seal_plans.last()?;
        if now > plan.inputs.day.until && now.date() != plan.inputs.day.from.date() {
            return None;
        }
        let tasks = self.planned_tasks(plan, now)?;
        if tasks.iter().all(|task| task.done) {
            return None;
        }
        let slipped = self.slipped(plan, &tasks, now);
        Some(ActivePlan { plan, tasks, slipped })
    }

    /// Everything that a plan asks for, in time; what stands done at `now` is marked. `None` where the sequence in force
    /// does not seal joints.
    pub fn planned_tasks(&self, plan: &SealPlan, now: Moment) -> Option<Vec<PlannedTask>> {
        let sealing = self.sequence().sealing.as_ref()?;
        let (day, made) = plan.drawn()?;
        let people = &plan.inputs.people;
        let mut tasks = Vec::new();
        for person in 1..=day.crew {
            let name =
                people.get(person - 1).map_or_else(|| format!("person {person}"), |name| short_name(name, people));
            for Stint { from, to, task, joint } in made.stints(&day, person) {
                let subject = day.joints[joint].id.clone();
                let step = match task {
                    // Masked before the plan.
                    Task::Mask if from == to => None,
                    Task::Mask => sealing.mask,
                    Task::Prime => Some(sealing.prime),
                    Task::Gun => Some(sealing.gun),
                    Task::TapeOff => sealing.tape_off,
                };
                // A joint that is not on the job any more is nobody's work.
                let Some((step, place)) = step.zip(self.subjects.index(&subject)) else { continue };
                let done = self.is_sealed_as_far_as(sealing, task, place, now);
                let (at, until, person) = (day.moment(from), day.moment(to), name.clone());
                tasks.push(PlannedTask { at, until, person, task, subject, place, step, done });
            }
        }
        tasks.sort_by(|a, b| (a.at, a.until, &a.person, a.place).cmp(&(b.at, b.until, &b.person, b.place)));
        Some(tasks)
    }

    /// Whether a task stands done on a joint; what comes before gunning stands done with it.
    fn is_sealed_as_far_as(&self, sealing: &Sealing, task: Task, place: SubjectIx, now: Moment) -> bool {
        let stands = |step: StepIx| self.complete(step, place, now);
        let gunned = stands(sealing.gun);
        match task {
            Task::Mask => gunned || stands(sealing.prime) || sealing.mask.is_some_and(stands),
            Task::Prime => gunned || stands(sealing.prime),
            Task::Gun => gunned,
            Task::TapeOff => gunned && sealing.tape_off.is_some_and(stands),
        }
    }

    /// Why the plan does not hold any more.
    fn slipped(&self, plan: &SealPlan, tasks: &[PlannedTask], now: Moment) -> Option<(Slip, String)> {
        let today = now.date();
        let left = || tasks.iter().filter(|task| !task.done);
        let wet = left().filter(|task| task.task != Task::TapeOff).find_map(|task| {
            let wall = *self.subjects.walls_of(task.place).first()?;
            let read = self.readings(wall).iter().filter(|reading| reading.rain).map(|reading| reading.at);
            let stopped = self.rain_stoppages(wall).map(|stoppage| stoppage.started_at);
            let foreseen = |at: Moment| plan.inputs.day.rain.iter().any(|span| span.from <= at && at < span.to);
            let rained = read.chain(stopped).filter(|at| *at > plan.at && *at <= now && !foreseen(*at)).min()?;
            let why = format!("rain on {} at {}", self.subjects.get(wall), rained.clock(today));
            Some((Slip::Rain(wall, rained), why))
        });
        let newer = || {
            let foreseen = self.forecast.as_ref()?;
            if Some(&foreseen.entry) == plan.inputs.forecast.as_ref() {
                return None;
            }
            let rain = foreseen.forecast.rain();
            let hit = left().filter(|task| matches!(task.task, Task::Prime | Task::Gun)).find_map(|task| {
                // A primed joint must stay dry until it is gunned.
                let since = if task.task == Task::Gun { now.min(task.at) } else { task.at };
                rain.iter().find(|(from, to)| *from < task.until && since < *to && *to > now)
            })?;
            Some((Slip::Forecast(hit.0), format!("the forecast now has rain from {}", hit.0.clock(today))))
        };
        let margin = plan.inputs.day.window.margin_min.to_f64().unwrap_or_default();
        let slack = TimeDelta::minutes((margin / 2.0).clamp(LEAST_SLACK_MIN, MOST_SLACK_MIN) as i64);
        let late = || {
            let task = left().find(|task| task.until + slack < now)?;
            let (person, task_of, at) = (&task.person, task.doing(), task.at.clock(today));
            let why =
                format!("by the plan {person} {task_of} at {at}; {} later it is not recorded", span(now - task.at));
            Some((Slip::Late(task.step, task.place), why))
        };
        wet.or_else(newer).or_else(late)
    }
}

/// The first name, where nobody else of the crew has it.
fn short_name(name: &str, people: &[String]) -> String {
    let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_owned();
    let short = first(name);
    let alone = people.iter().filter(|other| first(other) == short).count() == 1;
    if alone { short } else { name.to_owned() }
}
