//! What the walk turns to: the first thing of `next` that can be done or cleared on the spot.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use crate::building::SubjectKind;
use crate::day::{Action, SealAsk, State, judge, next, release_waits_for};
use crate::moment::Moment;
use crate::refusal::Rule;

/// One thing that can be done now.
#[derive(Debug)]
pub enum Task {
    /// An earlier day was left open.
    CloseOldDay,
    /// No day is open.
    OpenDay,
    /// A caution that somebody on site has not acknowledged, by its index, and the step that asks for it.
    Caution { caution: usize, step: usize },
    /// A reading that is missing or too old, why it is needed and on which walls.
    Reading { why: String, walls: Vec<usize> },
    /// A hold point whose work is complete, by its index, and the subject.
    Hold { hold: usize, subject: usize },
    /// Joints are ready and no plan is followed, or the day has slipped.
    SealPlan { why: String },
    /// A step that is ready.
    Step(Group),
}

/// A step on every subject of one wall that it can be recorded on together.
#[derive(Debug)]
pub struct Group {
    pub step: usize,
    pub subjects: Vec<usize>,
    /// Why it is next.
    pub why: String,
}

/// A task on a subject, for what the lead skipped: its kind and key, and the subject.
pub type TaskId = (String, usize);

impl Task {
    /// What is skipped with it.
    pub fn ids(&self, state: &State) -> Vec<TaskId> {
        let sequence = state.sequence();
        match self {
            Self::CloseOldDay => vec![("old day".into(), 0)],
            Self::OpenDay => vec![("day".into(), 0)],
            Self::Caution { caution, .. } => vec![(format!("caution {}", sequence.cautions[*caution].key), 0)],
            Self::Reading { walls, .. } => walls.iter().map(|wall| ("reading".into(), *wall)).collect(),
            Self::SealPlan { why } => vec![(format!("seal plan, {why}"), 0)],
            Self::Hold { hold, subject } => vec![(format!("hold {}", sequence.holds[*hold].key), *subject)],
            Self::Step(group) => group.subjects.iter().map(|subject| step_id(state, group.step, *subject)).collect(),
        }
    }
}

impl Task {
    /// Whether it is done at a wall, so that it matters at which one the lead stands.
    pub fn is_on_a_wall(&self, state: &State) -> bool {
        let stands = |subject: &usize| !state.subjects.walls_of(*subject).is_empty();
        match self {
            Self::CloseOldDay | Self::OpenDay | Self::Caution { .. } | Self::SealPlan { .. } => false,
            Self::Reading { walls, .. } => walls.iter().any(stands),
            Self::Hold { subject, .. } => stands(subject),
            Self::Step(group) => group.subjects.iter().any(stands),
        }
    }
}

fn step_id(state: &State, step: usize, subject: usize) -> TaskId {
    (format!("step {}", state.sequence().steps[step].key), subject)
}

/// The first thing to turn to, nothing of what was skipped: at a wall what stands on it or concerns the whole job.
pub fn pick(state: &State, now: Moment, skipped: &BTreeSet<TaskId>, wall: Option<usize>) -> Option<Task> {
    let wanted = |task: &Task| !task.ids(state).iter().any(|id| skipped.contains(id));
    let old = state.open_day().is_some_and(|day| day.date < now.date());
    if old && wanted(&Task::CloseOldDay) {
        return Some(Task::CloseOldDay);
    }
    let actions = next(state, now);
    // Whatever else is in the way, the day comes first.
    if state.open_day().is_none() && !actions.is_empty() && wanted(&Task::OpenDay) {
        return Some(Task::OpenDay);
    }
    let seal_plan = seal_plan_due(state, &actions, now).map(|why| Task::SealPlan { why });
    let here = |action: &&Action| wall.is_none_or(|wall| is_at(state, action.subject, wall));
    let task = |action| of_action(state, action, now, skipped).filter(&wanted);
    seal_plan.filter(&wanted).or_else(|| actions.iter().filter(here).find_map(task))
}

/// Whether a subject stands on a wall, or on none because it concerns the whole job.
pub fn is_at(state: &State, subject: usize, wall: usize) -> bool {
    let walls = state.subjects.walls_of(subject);
    walls.is_empty() || walls.contains(&wall)
}

/// The walls on which something can be done now, with the number of steps that can; most first.
pub fn walls_with_work(
    state: &State,
    actions: &[Action],
    now: Moment,
    skipped: &BTreeSet<TaskId>,
) -> Vec<(usize, usize)> {
    let wanted = |task: &Task| !task.ids(state).iter().any(|id| skipped.contains(id));
    let mut walls: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for action in actions.iter().filter(|action| action.at_hand) {
        let on = state.subjects.walls_of(action.subject);
        if on.iter().all(|wall| walls.get(wall).is_some_and(|steps| steps.contains(&action.step))) {
            continue;
        }
        if of_action(state, action, now, skipped).is_some_and(|task| wanted(&task)) {
            on.iter().for_each(|wall| {
                walls.entry(*wall).or_default().insert(action.step);
            });
        }
    }
    let mut walls: Vec<(usize, usize)> = walls.into_iter().map(|(wall, steps)| (wall, steps.len())).collect();
    walls.sort_by_key(|(wall, steps)| (Reverse(*steps), *wall));
    walls
}

fn of_action(state: &State, action: &Action, now: Moment, skipped: &BTreeSet<TaskId>) -> Option<Task> {
    let key = action.key.as_deref().unwrap_or_default();
    match action.rule {
        None if is_early(state, action, now, skipped) => None,
        None => group(state, action, now, skipped).map(Task::Step),
        Some(Rule::R9) => {
            let caution = state.sequence().caution(key)?;
            Some(Task::Caution { caution, step: action.step })
        }
        Some(Rule::R7) => {
            let walls = stale_walls(state, action, now);
            (!walls.is_empty()).then(|| Task::Reading { why: action.why.clone(), walls })
        }
        Some(Rule::R5) => hold(state, key, action, now),
        _ => None,
    }
}

/// Why the sealing is to be planned now: two or more joints come next, or the plan that is followed has slipped.
fn seal_plan_due(state: &State, actions: &[Action], now: Moment) -> Option<String> {
    if let Some(plan) = state.active_plan(now) {
        let why = plan.slipped?;
        return state.seal_day(&SealAsk::default(), now).is_ok().then_some(why);
    }
    let sealing = state.sequence().sealing.as_ref()?;
    let first = actions.iter().find(|action| action.at_hand)?;
    if first.step != sealing.prime && Some(first.step) != sealing.mask {
        return None;
    }
    let day = state.seal_day(&SealAsk::default(), now).ok()?;
    let joints = day.inputs.day.joints.len();
    (joints > 1).then(|| format!("{joints} joints are ready to be sealed"))
}

/// How early a step may come up before its time in the plan.
const EARLY: TimeDelta = TimeDelta::minutes(15);

/// What is skipped when the lead goes ahead of the plan: waiting for it.
pub fn ahead_of_plan() -> TaskId {
    ("waiting for the plan".to_owned(), 0)
}

/// Whether the kept seal plan has a step for later.
fn is_early(state: &State, action: &Action, now: Moment, skipped: &BTreeSet<TaskId>) -> bool {
    let plan = state.active_plan(now).filter(|plan| plan.slipped.is_none());
    let planned = plan.as_ref().and_then(|plan| plan.of(action.step, action.subject));
    planned.is_some_and(|planned| planned.at - now > EARLY) && !skipped.contains(&ahead_of_plan())
}

/// The subjects on the same wall that the step can be recorded on together with the first.
///
/// Of courses that go up in turn only the lowest is ready alone; recorded together, each counts for the next.
fn group(state: &State, action: &Action, now: Moment, skipped: &BTreeSet<TaskId>) -> Option<Group> {
    let (step, first) = (action.step, action.subject);
    let fresh = |subject: usize| state.done(step, subject).is_empty();
    let mut subjects: Vec<usize> = state
        .work()
        .filter(|(other, _)| *other == step)
        .map(|(_, subject)| subject)
        .filter(|subject| state.subjects.walls_of(*subject) == state.subjects.walls_of(first))
        .filter(|subject| fresh(*subject) == fresh(first) && !state.complete(step, *subject, now))
        .filter(|subject| !skipped.contains(&step_id(state, step, *subject)))
        .collect();
    if let Some(plan) = state.active_plan(now)
        && let Some(first) = plan.of(step, first)
    {
        // By the plan joints follow one another: those that are due by now go together.
        let due = first.at.max(now);
        subjects.retain(|subject| plan.of(step, *subject).is_some_and(|planned| planned.at <= due));
    }
    keep_recordable(state, step, &mut subjects, now);
    (!subjects.is_empty()).then(|| Group { step, subjects, why: action.why.clone() })
}

/// Leaves only those on which the step can be recorded together.
pub fn keep_recordable(state: &State, step: usize, subjects: &mut Vec<usize>, now: Moment) {
    loop {
        let all = subjects.clone();
        subjects.retain(|subject| judge(state, step, *subject, now, &all).is_empty());
        if subjects.len() == all.len() {
            return;
        }
    }
}

/// The walls of an action whose last reading is missing or too old for the limit that it waits by.
///
/// A fresh reading out of limits is weather: another reading does not clear it.
fn stale_walls(state: &State, action: &Action, now: Moment) -> Vec<usize> {
    let Some(limit) = state.sequence().limits.iter().find(|limit| Some(&limit.key) == action.key.as_ref()) else {
        return Vec::new();
    };
    let walls = state.subjects.exposed_walls(action.subject).iter().copied();
    let fresh = |wall: &usize| state.readings(*wall).last().is_some_and(|last| now - last.at <= limit.reading_within);
    walls.filter(|wall| !fresh(wall)).collect()
}

/// The hold point that an action waits by, when all that it covers is complete.
fn hold(state: &State, key: &str, action: &Action, now: Moment) -> Option<Task> {
    let hold = state.sequence().hold(key)?;
    let places = match state.sequence().holds[hold].per {
        SubjectKind::Job => &[0],
        _ => state.subjects.exposed_walls(action.subject),
    };
    places
        .iter()
        .copied()
        .filter(|place| !state.is_released(hold, *place))
        .find(|place| release_waits_for(state, hold, *place, now).is_empty())
        .map(|subject| Task::Hold { hold, subject })
}
