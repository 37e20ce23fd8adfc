//! What to turn to: the things of `next` that can be done or cleared on the spot, for the walk and for the phones.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::next::{Action, Urgency, next};
use super::sealing::{ActivePlan, SealAsk, Slip};
use crate::building::{SubjectIx, SubjectKind, Subjects};
use crate::day::rules::{judge, release_waits_for};
use crate::day::state::State;
use crate::moment::Moment;
use crate::refusal::Rule;
use crate::sequence::{CautionIx, HoldIx, LimitIx, StepIx};

/// One thing that can be done now.
#[derive(Debug)]
pub enum Task {
    /// An earlier day was left open.
    CloseOldDay,
    /// No day is open.
    OpenDay,
    /// Cautions that the same people on site have not acknowledged, for what could be done now.
    Cautions {
        /// Indexes of the cautions.
        cautions: Vec<CautionIx>,
        /// Index of the first step that asks for them.
        step: StepIx,
    },
    /// Readings that are missing or too old for a limit.
    Reading {
        /// Index of the limit.
        limit: LimitIx,
        /// Why they are needed.
        why: String,
        /// The walls that have none.
        walls: Vec<SubjectIx>,
    },
    /// A hold point whose work is complete.
    Hold {
        /// Index of the hold point.
        hold: HoldIx,
        /// The subject that it is released on.
        subject: SubjectIx,
    },
    /// Joints are ready and no plan is followed, or the day has slipped.
    SealPlan {
        /// What makes it due.
        due: SealPlanDue,
        /// The same in words.
        why: String,
    },
    /// A step that is ready.
    Step(Group),
}

/// A step on every subject of one wall that it can be recorded on together.
#[derive(Debug)]
pub struct Group {
    /// Index of the step.
    pub step: StepIx,
    /// The subjects, in the order of the building.
    pub subjects: Vec<SubjectIx>,
    /// What makes it urgent.
    pub urgency: Urgency,
    /// Why it is next.
    pub why: String,
}

/// What makes it due to plan the sealing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SealPlanDue {
    /// So many joints are ready, and no plan is followed.
    Ready {
        /// How many.
        joints: usize,
    },
    /// The plan that is followed has slipped.
    Slipped(Slip),
}

/// What the lead may skip: a task, on each of its subjects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TaskId {
    /// To close an earlier day.
    CloseOldDay,
    /// To open the day.
    OpenDay,
    /// A caution.
    Caution(CautionIx),
    /// Readings on a wall.
    Reading(SubjectIx),
    /// The release of a hold point on a subject.
    Hold(HoldIx, SubjectIx),
    /// A step on a subject.
    Step(StepIx, SubjectIx),
    /// To plan the sealing.
    SealPlan(SealPlanDue),
    /// To wait for what the seal plan has for later: who skips that works ahead of it.
    WaitForPlan,
}

impl Task {
    /// What is skipped with it.
    pub fn ids(&self) -> Vec<TaskId> {
        match self {
            Self::CloseOldDay => vec![TaskId::CloseOldDay],
            Self::OpenDay => vec![TaskId::OpenDay],
            Self::Cautions { cautions, .. } => cautions.iter().copied().map(TaskId::Caution).collect(),
            Self::Reading { walls, .. } => walls.iter().copied().map(TaskId::Reading).collect(),
            Self::SealPlan { due, .. } => vec![TaskId::SealPlan(*due)],
            Self::Hold { hold, subject } => vec![TaskId::Hold(*hold, *subject)],
            Self::Step(group) => group.subjects.iter().map(|subject| TaskId::Step(group.step, *subject)).collect(),
        }
    }

    /// Whether it is done at a wall, so that it matters at which one the lead stands.
    pub fn is_on_a_wall(&self, state: &State) -> bool {
        let stands = |subject: &SubjectIx| !state.subjects.walls_of(*subject).is_empty();
        match self {
            Self::CloseOldDay | Self::OpenDay | Self::Cautions { .. } | Self::SealPlan { .. } => false,
            Self::Reading { walls, .. } => walls.iter().any(stands),
            Self::Hold { subject, .. } => stands(subject),
            Self::Step(group) => group.subjects.iter().any(stands),
        }
    }
}

/// What there is to do on a wall.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct WallWork {
    /// The wall.
    pub wall: SubjectIx,
    /// How many steps can be done.
    pub steps: usize,
    /// How many hold points can be released.
    pub holds: usize,
}

/// What tasks are picked from.
pub struct Picking<'s> {
    state: &'s State,
    now: Moment,
    /// What the lead skipped.
    skipped: &'s BTreeSet<TaskId>,
    /// The kept seal plan, while it is followed.
    plan: Option<ActivePlan<'s>>,
}

/// Whether a subject stands on a wall, or on none because it concerns the whole job.
pub fn is_at(state: &State, subject: SubjectIx, wall: SubjectIx) -> bool {
    let walls = state.subjects.walls_of(subject);
    walls.is_empty() || walls.contains(&wall)
}

impl<'s> Picking<'s> {
    /// What can be picked from a state at a moment, without what was skipped.
    pub fn new(state: &'s State, now: Moment, skipped: &'s BTreeSet<TaskId>) -> Self {
        Self { state, now, skipped, plan: state.active_plan(now) }
    }

    /// The first thing to turn to, nothing of what was skipped: at a wall what stands on it or concerns the whole job.
    pub fn first(&self, wall: Option<SubjectIx>) -> Option<Task> {
        self.list(wall, &next(self.state, self.now), 1).pop()
    }

    /// The same as a list of at most so many, most urgent first; `actions` are those of `next`.
    pub fn list(&self, wall: Option<SubjectIx>, actions: &[Action], most: usize) -> Vec<Task> {
        let state = self.state;
        let old = state.open_day().is_some_and(|day| day.date < self.now.date());
        // Whatever else is in the way, the day comes first.
        let closed = state.open_day().is_none() && !actions.is_empty();
        let first = [old.then_some(Task::CloseOldDay), closed.then_some(Task::OpenDay)];
        let seal_plan = || self.seal_plan_due(actions).map(|(due, why)| Task::SealPlan { due, why });
        let here = |action: &&Action| wall.is_none_or(|wall| is_at(state, action.subject, wall));
        // People first: what is looked over every morning, with its cautions, comes before any measuring; what a window
        // closes on does not wait for it.
        let mut in_turn: Vec<&Action> = actions.iter().filter(here).collect();
        in_turn.sort_by_key(|action| {
            let step = &state.sequence().steps[action.step];
            (action.urgency != Urgency::Closing, !(step.daily && step.is_on(SubjectKind::Job)))
        });
        let of_actions = in_turn.iter().filter_map(|action| {
            let mut task = self.of_action(action)?;
            if let Task::Cautions { cautions, .. } = &mut task {
                self.add_read_together(cautions, actions.iter().filter(here));
            }
            Some(task)
        });
        let mut seen = BTreeSet::new();
        let tasks = first.into_iter().flatten().chain(std::iter::once_with(seal_plan).flatten()).chain(of_actions);
        let new = |task: &Task| {
            let ids = task.ids();
            let new = !ids.iter().any(|id| seen.contains(id));
            seen.extend(ids);
            new
        };
        tasks.filter(|task| self.wanted(task)).filter(new).take(most).collect()
    }

    /// The walls on which something can be done now; those with most steps first.
    pub fn walls_with_work(&self, actions: &[Action]) -> Vec<WallWork> {
        let mut walls: BTreeMap<SubjectIx, (BTreeSet<StepIx>, BTreeSet<HoldIx>)> = BTreeMap::new();
        for action in actions.iter().filter(|action| action.at_hand) {
            let on = self.state.subjects.walls_of(action.subject);
            if on.iter().all(|wall| walls.get(wall).is_some_and(|(steps, _)| steps.contains(&action.step))) {
                continue;
            }
            let Some(task) = self.of_action(action).filter(|task| self.wanted(task)) else { continue };
            for wall in on {
                let (steps, holds) = walls.entry(*wall).or_default();
                // All that a hold point stops is one thing to do: to have it released.
                match task {
                    Task::Hold { hold, .. } => holds.insert(hold),
                    _ => steps.insert(action.step),
                };
            }
        }
        let work = |(wall, (steps, holds)): (SubjectIx, (BTreeSet<StepIx>, BTreeSet<HoldIx>))| WallWork {
            wall,
            steps: steps.len(),
            holds: holds.len(),
        };
        let mut walls: Vec<WallWork> = walls.into_iter().map(work).collect();
        walls.sort_by_key(|work| (Reverse(work.steps), Reverse(work.holds), work.wall));
        walls
    }

    /// Adds the cautions that the same people have still to read for anything else that could be done here: they are read
    /// out in one go.
    fn add_read_together<'a>(&self, cautions: &mut Vec<CautionIx>, actions: impl Iterator<Item = &'a Action>) {
        let (state, now) = (self.state, self.now);
        let sequence = state.sequence();
        let unread = |caution: CautionIx| state.has_not_read(&sequence.cautions[caution].key, now);
        let of_first = unread(cautions[0]);
        let waiting = actions.filter(|action| action.rule == Some(Rule::Caution) && action.stopped.is_none());
        for &caution in waiting.flat_map(|action| &sequence.steps[action.step].cautions) {
            if !cautions.contains(&caution)
                && !self.skipped.contains(&TaskId::Caution(caution))
                && unread(caution) == of_first
            {
                cautions.push(caution);
            }
        }
    }

    fn wanted(&self, task: &Task) -> bool {
        !task.ids().iter().any(|id| self.skipped.contains(id))
    }

    fn of_action(&self, action: &Action) -> Option<Task> {
        let key = action.key.as_deref().unwrap_or_default();
        match action.rule {
            _ if action.stopped.is_some() => None,
            None if self.is_early(action) => None,
            None => self.group(action).map(Task::Step),
            Some(Rule::Caution) => {
                let caution = self.state.sequence().caution(key)?;
                Some(Task::Cautions { cautions: vec![caution], step: action.step })
            }
            Some(Rule::Condition) => {
                let limit = self.state.sequence().limits.index_of(|limit| limit.key == key)?;
                let to_read = |wall: &SubjectIx| {
                    !self.state.to_read(&self.state.sequence().limits[limit], *wall, self.now).is_empty()
                };
                let walls: Vec<SubjectIx> =
                    self.state.subjects.exposed_walls(action.subject).iter().copied().filter(to_read).collect();
                (!walls.is_empty()).then(|| Task::Reading { limit, why: action.why.clone(), walls })
            }
            Some(Rule::HoldPoint) => self.hold(key, action),
            _ => None,
        }
    }

    /// Why the sealing is to be planned now: two or more joints come next, or the plan that is followed has slipped.
    fn seal_plan_due(&self, actions: &[Action]) -> Option<(SealPlanDue, String)> {
        let (state, now) = (self.state, self.now);
        if let Some(plan) = &self.plan {
            let (slip, why) = plan.slipped.clone()?;
            return state.seal_day(&SealAsk::default(), now).is_ok().then_some((SealPlanDue::Slipped(slip), why));
        }
        let sealing = state.sequence().sealing.as_ref()?;
        let first = actions.iter().find(|action| action.at_hand)?;
        if first.step != sealing.prime && Some(first.step) != sealing.mask {
            return None;
        }
        let day = state.seal_day(&SealAsk::default(), now).ok()?;
        let joints = day.inputs.day.joints.len();
        let ready = || (SealPlanDue::Ready { joints }, format!("{joints} joints are ready to be sealed"));
        (joints > 1).then(ready)
    }

    /// Whether the kept seal plan has a step for later.
    fn is_early(&self, action: &Action) -> bool {
        /// How early a step may come up before its time in the plan.
        const EARLY: TimeDelta = TimeDelta::minutes(15);
        let plan = self.plan.as_ref().filter(|plan| plan.slipped.is_none());
        let planned = plan.and_then(|plan| plan.of(action.step, action.subject));
        planned.is_some_and(|planned| planned.at - self.now > EARLY) && !self.skipped.contains(&TaskId::WaitForPlan)
    }

    /// The subjects on the same wall that the step can be recorded on together with the first.
    ///
    /// Of courses that go up in turn only the lowest is ready alone; recorded together, each counts for the next.
    fn group(&self, action: &Action) -> Option<Group> {
        let (state, now, step, first) = (self.state, self.now, action.step, action.subject);
        let fresh = |subject: SubjectIx| state.done(step, subject).is_empty();
        let mut subjects: Vec<SubjectIx> = state
            .work()
            .filter(|(other, _)| *other == step)
            .map(|(_, subject)| subject)
            .filter(|subject| state.subjects.walls_of(*subject) == state.subjects.walls_of(first))
            .filter(|subject| fresh(*subject) == fresh(first) && !state.complete(step, *subject, now))
            .filter(|subject| !self.skipped.contains(&TaskId::Step(step, *subject)))
            .collect();
        if let Some(plan) = &self.plan
            && let Some(first) = plan.of(step, first)
        {
            // By the plan joints follow one another: those that are due by now go together.
            let due = first.at.max(now);
            subjects.retain(|subject| plan.of(step, *subject).is_some_and(|planned| planned.at <= due));
        }
        keep_recordable(state, step, &mut subjects, now);
        (!subjects.is_empty()).then(|| Group { step, subjects, urgency: action.urgency, why: action.why.clone() })
    }

    /// The hold point that an action waits by, when all that it covers is complete.
    fn hold(&self, key: &str, action: &Action) -> Option<Task> {
        let state = self.state;
        let hold = state.sequence().hold(key)?;
        let places = match state.sequence().holds[hold].per {
            SubjectKind::Job => &[Subjects::JOB],
            _ => state.subjects.exposed_walls(action.subject),
        };
        let mut places = places.iter().copied().filter(|place| !state.is_released(hold, *place));
        let due = places.find(|place| release_waits_for(state, hold, *place, self.now).is_empty());
        due.map(|subject| Task::Hold { hold, subject })
    }
}

/// Leaves only those on which the step can be recorded together.
pub fn keep_recordable(state: &State, step: StepIx, subjects: &mut Vec<SubjectIx>, now: Moment) {
    loop {
        let all = subjects.clone();
        subjects.retain(|subject| judge(state, step, *subject, now, &all).is_empty());
        if subjects.len() == all.len() {
            return;
        }
    }
}
