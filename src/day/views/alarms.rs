//! What rings and when: openings, warnings and closings of running windows, and the times of the kept seal plan.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use super::sealing::PlannedTask;
use crate::building::SubjectIx;
use crate::calendar::Event;
use crate::day::facts::SealPlan;
use crate::day::rules::Run;
use crate::day::state::State;
use crate::moment::{Moment, span};

/// How long before a closing, or a time of the plan, it rings.
const AHEAD: TimeDelta = TimeDelta::minutes(5);

impl State {
    /// Every time still to come at `now`, in order, as events of a calendar.
    ///
    /// An event keeps its id as long as it is about the same thing: a window's by the entry that began it, the plan's by
    /// its date, joint and task. What was done, lapsed or was dropped from the plan meanwhile is cancelled, so that a
    /// calendar which has it forgets it. `DTSTAMP` is the time of the last entry: the same record gives the same events.
    /// `SEQUENCE` counts the entries: whatever they say, a strike included, there are never fewer of them than before.
    pub fn alarms(&self, now: Moment) -> Vec<Event> {
        let edition = u32::try_from(self.entries).unwrap_or(u32::MAX / 2).saturating_mul(2);
        let mut events = Vec::new();
        for index in self.sequence().windows.indexes() {
            for subject in self.subjects.indexes() {
                let runs = self.runs_of(index, subject);
                let last = runs.len();
                for (nth, run) in runs.iter().enumerate() {
                    let over = nth + 1 < last || run.answered.is_some() || run.lapsed(now).is_some();
                    events.extend(self.of_run(run, over, edition, now));
                }
            }
        }
        events.extend(self.of_plan(edition, now));
        events.sort_by(|a, b| (a.start, &a.uid).cmp(&(b.start, &b.uid)));
        events
    }

    fn stamp(&self, now: Moment) -> Moment {
        self.last_recorded().unwrap_or(now)
    }

    fn of_run(&self, run: &Run<'_>, over: bool, edition: u32, now: Moment) -> Vec<Event> {
        let subject = self.subjects.get(run.subject).to_string();
        let step = &self.sequence().steps[run.window.to].title;
        let title = &run.window.title;
        let closes = |at: &Moment| run.closes_at.map(|closes| format!(" It closes at {}.", closes.clock(at.date())));
        let times = [
            ("opens", Some(run.opens_at), TimeDelta::zero(), format!("'{step}' may begin.")),
            ("warns", run.warns_at, TimeDelta::zero(), format!("Do '{step}' before it closes.")),
            ("closes", run.closes_at, AHEAD, format!("Do '{step}' before then, or repeat the first step.")),
        ];
        times
            .into_iter()
            .filter_map(|(what, at, ahead, says)| Some((what, at.filter(|at| *at > now)?, ahead, says)))
            .map(|(what, at, ahead, what_then)| Event {
                uid: format!("{}.{}.{subject}.{}.{what}@cladlog", self.job.key, run.window.key, run.from.entry),
                // It may also be over because time went by, with no entry.
                sequence: edition | u32::from(over),
                stamp: self.stamp(now),
                start: at,
                end: None,
                summary: format!("{subject}: {title} {}", if what == "warns" { "is closing" } else { what }),
                description: format!("{what_then}{}", closes(&at).filter(|_| what != "closes").unwrap_or_default()),
                ahead,
                cancelled: over,
            })
            .collect()
    }

    fn of_plan(&self, edition: u32, now: Moment) -> Vec<Event> {
        let Some(plan) = self.seal_plans.last() else { return Vec::new() };
        let Some(tasks) = self.planned_tasks(plan, now) else { return Vec::new() };
        let date = |plan: &SealPlan| plan.inputs.day.from.date();
        let event = |task: &PlannedTask, cancelled: bool| Event {
            uid: format!(
                "{}.seal-plan.{}.{}.{}@cladlog",
                self.job.key,
                date(plan),
                task.subject,
                task.task.word().replace(' ', "-")
            ),
            sequence: edition | u32::from(cancelled),
            stamp: self.stamp(now),
            start: task.at,
            end: Some(task.until),
            summary: format!("{} {}", task.person, task.doing()),
            description: format!("By the seal plan, {}.", span(task.until - task.at)),
            ahead: AHEAD,
            cancelled,
        };
        let mut events: Vec<Event> =
            tasks.iter().filter(|task| task.at > now).map(|task| event(task, task.done)).collect();
        // What an earlier plan of the day had, and this one has not, must not ring any more.
        let mut known: BTreeSet<(String, SubjectIx)> =
            tasks.iter().map(|task| (task.task.word().to_owned(), task.place)).collect();
        let earlier = self.seal_plans.iter().rev().skip(1).filter(|other| date(other) == date(plan));
        for other in earlier {
            for task in self.planned_tasks(other, now).into_iter().flatten().filter(|task| task.at > now) {
                if known.insert((task.task.word().to_owned(), task.place)) {
                    events.push(event(&task, true));
                }
            }
        }
        events
    }
}
