//! What can be done now, what waits, and why: most urgent first.

use std::collections::BTreeMap;

use super::sealing::PlannedTask;
use crate::building::SubjectIx;
use crate::day::facts::Done;
use crate::day::rules::{Attempt, Missed, covered_by, judge_attempt};
use crate::day::state::State;
use crate::index::Grid;
use crate::moment::{Moment, span};
use crate::refusal::{Clears, Rule};
use crate::sequence::StepIx;

/// What makes an action urgent, the most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// A window closes on it.
    Closing,
    /// A window lapsed, or what was done does not count: to be done again.
    Again,
    /// Everything before it is done.
    InOrder,
    /// It waits for a time.
    Time,
    /// It waits for the site day, a reading or an acknowledgement, which can be given at once.
    AtHand,
    /// It waits for a release that is due.
    ReleaseDue,
    /// It waits for other work.
    OtherWork,
    /// A hold point stops it, and the work that the hold point covers is not done yet.
    Held,
}

/// A step on a subject: ready, or waiting for something.
#[derive(Debug, Clone)]
pub struct Action {
    /// Index of the step.
    pub step: StepIx,
    /// Index of the subject.
    pub subject: SubjectIx,
    /// What makes it urgent.
    pub urgency: Urgency,
    /// Whether it could be recorded now.
    pub ready: bool,
    /// Why it is next, or what it waits for.
    pub why: String,
    /// The rule that it waits by.
    pub rule: Option<Rule>,
    /// The hold, window, limit or caution that it waits by.
    pub key: Option<String>,
    /// What clears it.
    pub clears: Option<Clears>,
    /// Ready, or waiting only for what somebody can give now: a reading, an acknowledgement, a release that is due.
    pub at_hand: bool,
    /// How work on it is stopped, where it is: whatever could be done is not to be done until work resumes.
    pub stopped: Option<String>,
    /// How it misses the window that it waits by.
    pub missed: Option<Missed>,
    /// When it opens.
    pub opens_at: Option<Moment>,
    /// When it closes.
    pub closes_at: Option<Moment>,
}

/// Every step still to be done, by its [`Urgency`]; within one, what opens or closes first, then in the order of the sequence.
pub fn next(state: &State, now: Moment) -> Vec<Action> {
    let complete = Grid::new(state.sequence().steps.len(), state.subjects.all().len(), |step, subject| {
        state.asked_of(step, subject) && state.complete(step, subject, now)
    });
    let is_complete = |step: StepIx, subject: SubjectIx| complete.get(step, subject).copied().unwrap_or_default();
    let plan = state.active_plan(now);
    let mut forecast: BTreeMap<String, Option<String>> = BTreeMap::new();
    let mut actions: Vec<((Urgency, Moment, Moment), Action)> = Vec::new();
    for (step, subject) in state.work() {
        if !is_complete(step, subject) {
            let (when, mut action) = action(state, step, subject, now, &is_complete);
            if let (Some(Rule::Condition), Some(key)) = (action.rule, &action.key) {
                let limit = state.sequence().limits.iter().find(|limit| limit.key == *key);
                let says = forecast.entry(key.clone()).or_insert_with(|| state.forecast_until(limit?, now));
                action.why.extend(says.iter().map(|says| format!("; {says}")));
            }
            let mut stoppages = state.open_stoppages();
            action.stopped = stoppages
                .find(|stoppage| state.is_stopped_by(stoppage, subject))
                .map(|stoppage| stoppage.standing(now));
            action.at_hand &= action.stopped.is_none();
            let planned = plan.as_ref().and_then(|plan| plan.of(step, subject));
            actions.push((by_plan(when, &mut action, planned, now), action));
        }
    }
    // The sort is stable: of what is as urgent the order of the sequence stays.
    actions.sort_by_key(|(urgency, _)| *urgency);
    actions.into_iter().map(|(_, action)| action).collect()
}

/// Where an action stands under the kept seal plan, which says so in its reason. What the plan asks for now comes before
/// other work, what it asks for later after it; a window that presses stays where it is.
fn by_plan(when: Moment, action: &mut Action, planned: Option<&PlannedTask>, now: Moment) -> (Urgency, Moment, Moment) {
    let urgency = action.urgency;
    let Some(task) = planned else { return (urgency, when, now) };
    let person = &task.person;
    action.why.push_str(&format!("; {} by the plan, {person}", task.at.clock(now.date())));
    (urgency, if urgency == Urgency::InOrder { task.at } else { when }, task.at)
}

fn action(
    state: &State,
    step: StepIx,
    subject: SubjectIx,
    now: Moment,
    complete: &dyn Fn(StepIx, SubjectIx) -> bool,
) -> (Moment, Action) {
    let attempt = Attempt { step, subject, begun: now, at: now, device: state.device(), together: &[] };
    let mut breaches = judge_attempt(state, &attempt, complete);
    // Without an open day everything waits for it; what else it waits for says more.
    if breaches.len() > 1 {
        breaches.retain(|breach| breach.rule != Rule::OpenDay);
    }
    let windows = &state.sequence().windows;
    let pressing = windows
        .indexed()
        .filter(|(_, window)| window.to == step)
        .filter_map(|(index, _)| state.run(index, subject))
        .filter(|run| run.answered.is_none() && run.lapsed(now).is_none())
        .min_by_key(|run| (run.closes_at.is_none(), run.closes_at));
    let lapsed = state.undone_by(step, subject, now);
    let today = now.date();
    let Some(breach) = breaches.into_iter().next() else {
        let closes_at = pressing.as_ref().and_then(|run| run.closes_at);
        let (urgency, when, why) = match (&pressing, &lapsed) {
            (Some(run), _) => {
                let why = match run.closes_at {
                    Some(closes) => {
                        format!("'{}' closes at {}, in {}", run.window.title, closes.clock(today), span(closes - now))
                    }
                    None => format!("'{}' is open", run.window.title),
                };
                (Urgency::Closing, run.closes_at.unwrap_or(now), why)
            }
            (None, Some(run)) => {
                (Urgency::Again, run.from.at, format!("'{}' lapsed: to be done again", run.window.title))
            }
            (None, None) => match state.done(step, subject).last() {
                Some(done) if done.is_out_of_tolerance() => (Urgency::Again, done.at, out_words(state, step, done)),
                Some(_) => (Urgency::Again, now, "to be done again".to_owned()),
                None => (Urgency::InOrder, now, "everything before it is done".to_owned()),
            },
        };
        let ready = Action {
            step,
            subject,
            urgency,
            ready: true,
            why,
            rule: None,
            key: None,
            clears: None,
            at_hand: true,
            stopped: None,
            missed: None,
            opens_at: pressing.as_ref().map(|run| run.opens_at),
            closes_at,
        };
        return (when, ready);
    };
    let waits_for = match breach.rule {
        Rule::Window if breach.opens_at.is_some() => Urgency::Time,
        Rule::Condition | Rule::Caution | Rule::OpenDay => Urgency::AtHand,
        Rule::HoldPoint if release_is_due(state, &breach.key, subject, complete) => Urgency::ReleaseDue,
        Rule::HoldPoint => Urgency::Held,
        _ => Urgency::OtherWork,
    };
    // A window that closes while something at hand is in the way is as pressing as one that is ready.
    let pressed = pressing.as_ref().and_then(|run| run.closes_at).filter(|_| waits_for == Urgency::AtHand);
    let when = pressed.or(breach.opens_at).unwrap_or(now);
    let waiting = Action {
        step,
        subject,
        urgency: if pressed.is_some() { Urgency::Closing } else { waits_for },
        ready: false,
        why: breach.why,
        rule: Some(breach.rule),
        key: Some(breach.key),
        clears: Some(breach.clears),
        at_hand: matches!(waits_for, Urgency::AtHand | Urgency::ReleaseDue),
        stopped: None,
        missed: breach.missed,
        opens_at: breach.opens_at,
        closes_at: pressing.and_then(|run| run.closes_at),
    };
    (when, waiting)
}

/// What is to be done where the last record of a step was not in order. Nobody gives a concession on what is looked over
/// every morning so that people can work.
fn out_words(state: &State, step: StepIx, done: &Done) -> String {
    let mut wrong = done.answers.iter().filter(|judged| judged.held == Some(false) && !judged.conceded);
    let measured = wrong.any(|judged| judged.value().is_some());
    let why = if measured {
        "out of tolerance: put it right and measure again"
    } else {
        "not in order: put it right and check again"
    };
    let concession = if state.sequence().steps[step].daily { "" } else { ", or ask for a concession" };
    format!("{why}{concession}")
}

/// Whether everything that a hold point covers is complete, so that it can be looked at and released.
fn release_is_due(state: &State, hold: &str, subject: SubjectIx, complete: &dyn Fn(StepIx, SubjectIx) -> bool) -> bool {
    let Some(hold) = state.sequence().hold(hold) else { return false };
    let per = state.sequence().holds[hold].per;
    state.hold_subjects(per, subject).iter().any(|on| {
        !state.is_released(hold, *on)
            && covered_by(state, hold, *on).all(|(step, part)| !state.asked_of(step, part) || complete(step, part))
    })
}
