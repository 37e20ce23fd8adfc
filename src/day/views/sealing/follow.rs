//! How far the day has come by the kept plan, what comes next by it, and whether the day has slipped.

use chrono::TimeDelta;
use serde::Serialize;

use crate::day::facts::{Inputs, JointRow, SealPlan};
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::sealing::plan::Task;
use crate::sequence::Sealing;

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
    #[serde(serialize_with = "word_of")]
    pub task: Task,
    /// The joint.
    pub subject: String,
    /// Index of the joint.
    #[serde(skip)]
    pub place: usize,
    /// Index of the step.
    #[serde(skip)]
    pub step: usize,
    /// Whether it stands done.
    #[serde(skip)]
    pub done: bool,
}

fn word_of<S: serde::Serializer>(task: &Task, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(task.word())
}

/// The kept plan, as far as it is still to be followed.
#[derive(Debug, Clone)]
pub struct ActivePlan<'s> {
    /// The plan.
    pub plan: &'s SealPlan,
    /// Everything that it asks for, in time, what is done included.
    pub tasks: Vec<PlannedTask>,
    /// Why the plan does not hold any more.
    pub slipped: Option<String>,
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
    pub fn of(&self, step: usize, place: usize) -> Option<&PlannedTask> {
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
        if now > plan.inputs.until && now.date() != plan.inputs.from.date() {
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
        let sealing = self.sequence().sealing()?;
        let mut tasks: Vec<PlannedTask> =
            plan.timetable.joints.iter().flat_map(|row| self.tasks_of(row, &plan.inputs, &sealing, now)).collect();
        tasks.sort_by(|a, b| (a.at, a.until, &a.person, a.place).cmp(&(b.at, b.until, &b.person, b.place)));
        Some(tasks)
    }

    fn tasks_of(&self, row: &JointRow, inputs: &Inputs, sealing: &Sealing, now: Moment) -> Vec<PlannedTask> {
        // A joint that is not on the job any more is nobody's work.
        let Some(place) = self.subjects.index(&row.id) else { return Vec::new() };
        let name = |number: usize| {
            let name = number.checked_sub(1).and_then(|place| inputs.people.get(place));
            name.map_or_else(|| format!("person {number}"), |name| short_name(name, &inputs.people))
        };
        let gunned = self.complete(sealing.gun, place, now);
        let mut tasks = Vec::new();
        let mut add = |task: Task, step: Option<usize>, by: usize, (at, until): (Moment, Moment), done: bool| {
            let Some(step) = step else { return };
            let (person, subject) = (name(by), row.id.clone());
            tasks.push(PlannedTask { at, until, person, task, subject, place, step, done });
        };
        if let Some(by) = row.primed_by {
            let primed = gunned || self.complete(sealing.prime, place, now);
            if row.mask_at < row.prime_at {
                let masked = primed || sealing.mask.is_some_and(|mask| self.complete(mask, place, now));
                add(Task::Mask, sealing.mask, by, (row.mask_at, row.prime_at), masked);
            }
            let long = inputs.minutes_of(&row.id, inputs.rates.prime_min_per_m);
            add(Task::Prime, Some(sealing.prime), by, (row.prime_at, row.prime_at + long), primed);
        }
        let long = inputs.minutes_of(&row.id, inputs.rates.gun_min_per_m);
        add(Task::Gun, Some(sealing.gun), row.gunned_by, (row.gun_at, row.gun_at + long), gunned);
        let off = sealing.tape_off.is_some_and(|step| self.complete(step, place, now)) && gunned;
        add(Task::TapeOff, sealing.tape_off, row.gunned_by, (row.tape_off_at, row.done_at), off);
        tasks
    }

    /// Why the plan does not hold any more.
    fn slipped(&self, plan: &SealPlan, tasks: &[PlannedTask], now: Moment) -> Option<String> {
        let today = now.date();
        let left = || tasks.iter().filter(|task| !task.done);
        let wet = left().filter(|task| task.task != Task::TapeOff).find_map(|task| {
            let wall = *self.subjects.walls_of(task.place).first()?;
            let rained = self.readings(wall).iter().find(|reading| {
                let foreseen = plan.inputs.rain.iter().any(|s| s.from <= reading.at && reading.at < s.to);
                reading.rain && reading.at > plan.at && reading.at <= now && !foreseen
            })?;
            Some(format!("rain on {} at {}", self.subjects.get(wall), rained.at.clock(today)))
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
            Some(format!("the forecast now has rain from {}", hit.0.clock(today)))
        };
        let slack =
            TimeDelta::minutes((plan.inputs.window.margin_min / 2.0).clamp(LEAST_SLACK_MIN, MOST_SLACK_MIN) as i64);
        let late = || {
            let task = left().find(|task| task.until + slack < now)?;
            Some(format!("{}, by the plan, and is not recorded {} later", task.in_words(today), span(now - task.at)))
        };
        wet.or_else(newer).or_else(late)
    }
}

impl Inputs {
    /// How long a task takes on a joint: whole minutes, rounded up as the plan does.
    fn minutes_of(&self, id: &str, rate: f64) -> TimeDelta {
        let length = self.joint.iter().find(|joint| joint.id == id).map_or(0.0, |joint| joint.length_m);
        // A hair over a whole number is the rounding of the product.
        let minutes = (length * rate - 1e-9).ceil().clamp(0.0, 1e6);
        TimeDelta::minutes(minutes as i64)
    }
}

/// The first name, where nobody else of the crew has it.
fn short_name(name: &str, people: &[String]) -> String {
    let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_owned();
    let short = first(name);
    let alone = people.iter().filter(|other| first(other) == short).count() == 1;
    if alone { short } else { name.to_owned() }
}
