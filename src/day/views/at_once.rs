//! What is done in one go: a step and those that follow it at once, recorded together, each with its own time. Whoever
//! guns a joint tools it and takes the tape off before the gun is put down.

use chrono::TimeDelta;
use chrono_tz::Tz;

use super::questions::counts_from_its_beginning;
use super::windows::{WindowsAlike, gathered_windows};
use crate::building::SubjectIx;
use crate::day::requests::RecordStep;
use crate::day::state::State;
use crate::moment::{Moment, parse};
use crate::plain::one_after_another;
use crate::sequence::{StepIx, Window};

/// The longest that a step is taken to follow another at once; common practice, no source.
const AT_ONCE: TimeDelta = TimeDelta::hours(1);

/// A step and those that follow it at once.
#[derive(Debug, Clone)]
pub struct InOneGo<'s> {
    state: &'s State,
    /// Indexes of the steps, in their order.
    steps: Vec<StepIx>,
}

impl<'s> InOneGo<'s> {
    /// The step, and those that follow it at once on all of the subjects.
    pub fn from(state: &'s State, step: StepIx, subjects: &[SubjectIx]) -> Self {
        let mut steps = subjects.first().map(|first| following(state, step, *first)).unwrap_or_default();
        steps.retain(|follows| subjects.iter().all(|subject| following(state, step, *subject).contains(follows)));
        steps.insert(0, step);
        Self { state, steps }
    }

    /// Only so many of the steps that follow.
    pub fn truncate(&mut self, following: usize) {
        self.steps.truncate(following + 1);
    }

    /// Indexes of the steps that follow.
    pub fn following(&self) -> &[StepIx] {
        &self.steps[1..]
    }

    /// What may be done by now, from the first step alone to all of them: "gunned", "gunned, tooled", ….
    pub fn done_so_far(&self) -> Vec<String> {
        (1..=self.steps.len()).map(|count| self.titles(&self.steps[..count])).collect()
    }

    /// The steps that follow, in words.
    pub fn following_words(&self) -> String {
        self.titles(self.following())
    }

    fn titles(&self, steps: &[StepIx]) -> String {
        let titles: Vec<String> = steps.iter().map(|step| self.state.sequence().steps[*step].title.clone()).collect();
        one_after_another(&titles)
    }

    /// Whether a window counts from the beginning of the first step, which then has to be known.
    pub fn counts_from_its_beginning(&self) -> bool {
        counts_from_its_beginning(self.state, self.steps[0])
    }

    /// The steps as they are recorded. `times` are the beginning of the first and the ends of those that follow, where they
    /// were not at `at`. The first ended by the time that the next was done.
    ///
    /// # Errors
    /// What is wrong with the times.
    pub fn timed(
        &self,
        first: RecordStep,
        times: &[Option<Moment>],
        at: Moment,
    ) -> Result<Vec<(RecordStep, Moment)>, String> {
        let time = |place: usize| times.get(place).copied().flatten();
        let mut done = vec![(first, time(1).filter(|_| self.steps.len() > 1).unwrap_or(at))];
        if self.counts_from_its_beginning() {
            done[0].0.began = time(0).map(|began| began.to_string());
        }
        for (place, step) in self.following().iter().enumerate() {
            let (step, subject) = (self.state.sequence().steps[*step].key.clone(), done[0].0.subject.clone());
            let anyway = done[0].0.anyway.clone();
            done.push((RecordStep { step, subject, anyway, ..RecordStep::default() }, time(place + 1).unwrap_or(at)));
        }
        let in_turn = time(0).into_iter().chain(done.iter().map(|(_, at)| *at));
        if in_turn.is_sorted() { Ok(done) } else { Err("give the times in the order in which it was done".to_owned()) }
    }
}

/// A time before `at` as people type it: a number is so many minutes ago, a time of the clock has a colon in it.
///
/// # Errors
/// Why it is none, or that it is still to come.
pub fn time_before(text: &str, at: Moment, zone: Tz) -> Result<Moment, String> {
    let time = match text.parse::<u32>() {
        Ok(minutes) => at - TimeDelta::minutes(minutes.into()),
        Err(_) => parse(text, at.date(), zone).map_err(|error| error.to_string())?,
    };
    if time > at { Err(format!("that is still to come; it is {} now", at.clock(at.date()))) } else { Ok(time) }
}

/// The steps that follow a step on a subject at once, in their order: a short window runs to them from it and is open from
/// the start, and they ask nothing.
fn following(state: &State, step: StepIx, subject: SubjectIx) -> Vec<StepIx> {
    let sequence = state.sequence();
    let follows = |window: &&Window| window.from == step && ends_at_once(state, window, subject);
    let mut steps: Vec<StepIx> = sequence.windows.iter().filter(follows).map(|window| window.to).collect();
    let before =
        |step: StepIx, steps: &[StepIx]| steps.iter().filter(|it| sequence.steps[step].after.contains(it)).count();
    let all = steps.clone();
    steps.sort_by_key(|step| (before(*step, &all), *step));
    steps.dedup();
    steps
}

/// Whether a window is short, open from the start, and runs to a step that asks nothing.
fn ends_at_once(state: &State, window: &Window, subject: SubjectIx) -> bool {
    window.earliest.is_none()
        && window.by_surface.is_empty()
        && window.latest.is_some_and(|latest| latest <= AT_ONCE)
        && state.asked_of(window.to, subject)
        && state.asks(window.to, subject).is_empty()
}

/// The windows of the last day that closed on a step that follows at once and is not recorded: it may have been done in
/// time. The one that closed first comes first.
pub fn missed_at_once(state: &State, now: Moment) -> Vec<WindowsAlike<'_>> {
    let mut missed = gathered_windows(state, now);
    missed.retain(|it| {
        let run = &it.run;
        let closed = run.closes_at.is_some_and(|closes| closes < now && now - closes < TimeDelta::days(1));
        closed && run.lapsed(now) == run.closes_at && ends_at_once(state, run.window, run.subject)
    });
    missed
}
