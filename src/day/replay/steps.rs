//! Folding a step done into the state: what stops it, what was measured, the windows that it begins and ends.

use std::sync::Arc;

use super::apply::Unapplied;
use super::defects::{Void, stopped_in_words};
use crate::building::SubjectIx;
use crate::day::facts::{DefectState, Done, Effect, Judged, Reading, Taken, Thing};
use crate::day::rules::{Attempt, Breach, judge_answer, judge_attempt, judge_batches, out_of_tolerance, stock_of};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{Answer, Cause, DefectId, Entry, EntryId, StepDone, StockUse, StoppedBy};
use crate::refusal::Rule;
use crate::sequence::{Step, StepIx, WindowIx};

impl State {
    /// Folds a step in that was done on a subject, `together` with those of the same record.
    pub(super) fn do_step(
        &mut self,
        entry: &Entry,
        step_done: &StepDone,
        together: &[SubjectIx],
    ) -> Result<(), Unapplied> {
        let step = self.sequence().step(&step_done.step).ok_or(Unapplied::NotUnderstood)?;
        let subject = self.named(&step_done.subject)?;
        let edition = Arc::clone(&self.editions[self.editions.len() - 1]);
        let wanted = &edition.steps[step];
        let at = entry.happened_at;
        let begun = step_done.began.unwrap_or(at);
        let attempt = Attempt { step, subject, begun, at, device: Some(&entry.device), together };
        let mut breaches = judge_attempt(self, &attempt, &|step, subject| self.complete(step, subject, at));
        breaches.extend(judge_batches(self, wanted, &step_done.answers, at));
        self.take_batches(entry, step_done, wanted, subject);
        self.open_breaches(entry, step_done, &attempt, breaches);
        let unaware = self.done_unaware(entry, step, subject);
        let again = unaware.is_none() && !self.done(step, subject).is_empty();
        self.note_work(entry, step, subject, again);
        self.note_readings(entry, step, subject);
        if let Some(what) = unaware {
            let (cause, what) = (Cause::Rule(Rule::Strike, "twice".to_owned()), format!("{}: {what}", wanted.title));
            self.open_defect(entry, cause, &step_done.subject, what);
        }
        let done = Done {
            entry: entry.id(),
            began: begun,
            at,
            order: self.folded,
            by: entry.by.clone(),
            day: self.day_at(Some(&entry.device), at),
            answers: self.measure(entry, step_done, step, subject),
            anyway: step_done.anyway.clone(),
            seen: entry.seen.clone(),
        };
        self.changing_windows(step, subject, entry, |state| {
            // Most steps are done once: room for more than that would be most of the memory.
            if let Some(all) = state.progress.get_mut(step, subject) {
                all.reserve_exact(1);
                all.push(done);
            }
        });
        Ok(())
    }

    /// Books what the step took of the batches that its answers name.
    fn take_batches(&mut self, entry: &Entry, step_done: &StepDone, wanted: &Step, subject: SubjectIx) {
        for (_, product, batch) in stock_of(wanted, &step_done.answers) {
            self.stock.taken.push(Arc::new(Taken {
                entry: entry.id(),
                at: entry.happened_at,
                by: entry.by.clone(),
                product: product.to_owned(),
                batch: batch.map(str::to_owned),
                subject,
                how: StockUse::Used,
                count: None,
                step: Some(wanted.key.clone()),
                note: None,
                anyway: step_done.anyway.clone(),
            }));
        }
    }

    /// Opens as defects what rules the step broke; lists as gone what stopped it when it was recorded and stops it no longer.
    fn open_breaches(&mut self, entry: &Entry, step_done: &StepDone, attempt: &Attempt<'_>, breaches: Vec<Breach>) {
        let StepDone { subject: on, anyway, stopped_by, .. } = step_done;
        let title = self.sequence().steps[attempt.step].title.clone();
        let still = |stopped: &&StoppedBy| breaches.iter().any(|it| (it.rule, &it.key) == (stopped.rule, &stopped.key));
        let void: Vec<&StoppedBy> = stopped_by.iter().filter(|stopped| !still(stopped)).collect();
        for breach in breaches {
            let what = stopped_in_words(&title, &breach.why, anyway.as_ref());
            self.open_defect(entry, Cause::Rule(breach.rule, breach.key), on, what);
        }
        for stopped in void {
            let StoppedBy { rule, key, why } = stopped;
            let ended = self.let_pass_later(stopped, attempt.step, attempt.subject, attempt.at);
            let how = match &ended {
                Some((by, ..)) => format!("cleared by entry {by}, recorded later"),
                None => "cleared by what was recorded later".to_owned(),
            };
            let what = stopped_in_words(&title, why, anyway.as_ref());
            self.list_void(entry, Void { cause: Cause::Rule(*rule, key.clone()), subject: on, what, how, ended });
        }
    }

    /// Holds the answers against their limits: ends the defects of what was measured before, opens those of what is out now.
    fn measure(&mut self, entry: &Entry, step_done: &StepDone, step: StepIx, subject: SubjectIx) -> Vec<Judged> {
        let answers = &step_done.answers;
        let mut judged = Vec::with_capacity(answers.len());
        // What is held against a plan is no question where none is kept.
        for ask in self.asks_where(step, subject, answers) {
            let Some(answer) = answers.get(&ask.key) else { continue };
            let held = judge_answer(&ask, answer);
            let cause = Cause::Measured(ask.key.clone());
            let defect = (held == Some(false)).then(|| DefectId::new(entry.id(), cause.clone()));
            let is_measured = matches!(answer, Answer::Number(_) | Answer::Frame(_));
            let how = match &defect {
                None if is_measured => "measured again, in tolerance".to_owned(),
                None => "answered again, in order".to_owned(),
                Some(defect) if is_measured => format!("measured again, still out: {defect}"),
                Some(defect) => format!("answered again, still not in order: {defect}"),
            };
            self.end_measured(step, subject, &ask.key, entry, &how);
            if defect.is_some() {
                let title = &self.sequence().steps[step].title;
                let what = format!("{title}: {}", out_of_tolerance(&ask, answer));
                self.open_defect(entry, cause, &step_done.subject, what);
            }
            judged.push(Judged { ask, answer: answer.clone(), held, defect, conceded: false });
        }
        judged
    }

    /// What lets a step pass that was stopped when it was recorded: the entry, when it was recorded, whose word it is.
    fn let_pass_later(
        &self,
        stopped: &StoppedBy,
        step: StepIx,
        subject: SubjectIx,
        at: Moment,
    ) -> Option<(EntryId, Moment, String)> {
        let sequence = self.sequence();
        match stopped.rule {
            Rule::HoldPoint => {
                let hold = sequence.hold(&stopped.key)?;
                let places = self.hold_subjects(sequence.holds[hold].per, subject).iter();
                let releases =
                    places.filter_map(|on| self.holds.get(&(hold, *on))).filter(|status| status.is_released());
                let last = releases.max_by_key(|status| status.recorded_at)?;
                Some((last.entry.clone()?, last.recorded_at?, last.person.clone()?))
            }
            Rule::Condition => {
                let last = self.readings_in_force(step, subject, at).max_by_key(|reading| reading.recorded_at)?;
                Some((last.entry.clone(), last.recorded_at, last.by.clone()))
            }
            _ => None,
        }
    }

    /// The readings that the limits of a step go by, on each wall.
    fn readings_in_force(&self, step: StepIx, subject: SubjectIx, at: Moment) -> impl Iterator<Item = &Reading> {
        let limits = self.sequence().steps[step].limits.iter().map(|limit| &self.sequence().limits[*limit]);
        let walls = self.subjects.exposed_walls(subject).iter();
        let each = limits.flat_map(move |limit| walls.clone().map(move |wall| (limit, *wall)));
        each.flat_map(move |(limit, wall)| self.known(limit, wall, at).readings)
    }

    /// Notes the readings that were recorded after the step that they let pass.
    fn note_readings(&mut self, entry: &Entry, step: StepIx, subject: SubjectIx) {
        let later = self.readings_in_force(step, subject, entry.happened_at);
        let later = later.filter(|reading| reading.recorded_at > entry.recorded_at);
        let later: Vec<EntryId> = later.map(|reading| reading.entry.clone()).collect();
        self.read_after_work.extend(later);
    }

    /// What somebody else recorded of a step, when neither knew of the other: one of the two is not so.
    pub(super) fn done_unaware(&self, entry: &Entry, step: StepIx, subject: SubjectIx) -> Option<String> {
        let other = self.done(step, subject).iter().rev().find(|done| unaware(entry, done))?;
        let when = other.at.clock(entry.happened_at.date());
        Some(format!(
            "{} also recorded this at {when} ({}), on another device; strike one of the two",
            other.by, other.entry
        ))
    }

    /// Ends the open defects of earlier measurements of one ask.
    pub(super) fn end_measured(&mut self, step: StepIx, subject: SubjectIx, ask: &str, entry: &Entry, how: &str) {
        let earlier = self.done(step, subject).iter().filter_map(|done| done.answer(ask)?.defect.clone());
        let earlier: Vec<DefectId> = earlier.collect();
        for defect in earlier {
            self.end_defect(&defect, DefectState::Closed, entry, None, how);
        }
    }

    /// Changes what is done of a step on a subject, and notes the windows that this starts and ends.
    pub(super) fn changing_windows(
        &mut self,
        step: StepIx,
        subject: SubjectIx,
        entry: &Entry,
        change: impl FnOnce(&mut Self),
    ) {
        let at = entry.happened_at;
        let windows = self.sequence().windows.indexed();
        let touched: Vec<WindowIx> =
            windows.filter(|(_, window)| window.from == step || window.to == step).map(|(index, _)| index).collect();
        let ran: Vec<bool> = touched.iter().map(|window| self.runs_at(*window, subject, at)).collect();
        change(self);
        for (window, ran) in touched.into_iter().zip(ran) {
            match (ran, self.runs_at(window, subject, at)) {
                (false, true) => self.effects.push(Effect::Opened(self.window(window, subject))),
                (true, false) => self.effects.push(Effect::Closed(self.window(window, subject))),
                // Begun in rain that had not ended: it began, and is lost with the same entry.
                (false, false) if self.lapses_at_once(window, subject, entry) => {
                    self.effects.push(Effect::Opened(self.window(window, subject)));
                }
                _ => {}
            }
        }
    }

    /// Whether a window runs on a subject: begun, not answered, not lapsed by `at`.
    pub(super) fn runs_at(&self, window: WindowIx, subject: SubjectIx, at: Moment) -> bool {
        self.run(window, subject).is_some_and(|run| run.answered.is_none() && run.lapsed(at).is_none())
    }

    /// Whether a window that an entry began had lapsed by the time of the entry.
    fn lapses_at_once(&self, window: WindowIx, subject: SubjectIx, entry: &Entry) -> bool {
        let run = self.run(window, subject).filter(|run| run.from.entry == entry.id() && run.answered.is_none());
        run.is_some_and(|run| run.lapsed(entry.happened_at).is_some())
    }

    pub(super) fn window(&self, window: WindowIx, subject: SubjectIx) -> Thing {
        Thing::Window { window: self.sequence().windows[window].key.clone(), subject }
    }
}

/// Whether what was done before and an entry were recorded by two crews of which neither knew what the other had done.
fn unaware(entry: &Entry, done: &Done) -> bool {
    let was_seen = done.seen.get(&*entry.device).is_some_and(|last| entry.seq <= *last);
    entry.device != done.entry.device && !entry.had_seen(&done.entry) && !was_seen
}
