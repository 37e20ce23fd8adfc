//! Folding into the state what becomes of a defect: opened, ended, conceded.

use crate::day::facts::{Defect, DefectState, Done, Effect, Thing};
use crate::day::rules::{judge_answer, out_of_tolerance};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{Body, Cause, DefectId, Entry, EntryId, StoppedBy};
use crate::refusal::{Refusal, Rule};
use crate::sequence::StepIx;

impl State {
    /// A rule finds an entry out of order that nobody can refuse any more: it becomes a defect.
    pub(super) fn open_refused(&mut self, entry: &Entry, cause: Cause, on: &str, refusal: &Refusal) {
        let what = format!("{}: {}", refusal.what, refusal.why);
        self.open_defect_of(entry, cause, on, Some(refusal.rule), what);
    }

    pub(super) fn open_defect(&mut self, entry: &Entry, cause: Cause, on: &str, what: String) {
        let rule = cause.rule();
        self.open_defect_of(entry, cause, on, rule, what);
    }

    fn open_defect_of(&mut self, entry: &Entry, cause: Cause, on: &str, rule: Option<Rule>, what: String) {
        let id = DefectId::new(entry.id(), cause);
        if self.list_defect(entry, id.clone(), on, rule, what).is_some() {
            self.effects.push(Effect::Opened(Thing::Defect(id)));
        }
    }

    /// Puts an open defect on the list, where it does not stand there yet.
    fn list_defect(
        &mut self,
        entry: &Entry,
        id: DefectId,
        on: &str,
        rule: Option<Rule>,
        what: String,
    ) -> Option<&mut Defect> {
        if self.defect_places.contains_key(&id) {
            return None;
        }
        self.defect_places.insert(id.clone(), self.defects.len());
        self.defects.push(Defect {
            id,
            subject: on.to_owned(),
            state: DefectState::Open,
            rule,
            what,
            opened_at: entry.happened_at,
            how: None,
            person: None,
            ended_at: None,
            ended_by: None,
            noted_by: None,
            grade: None,
        });
        self.defects.last_mut()
    }

    pub(super) fn end_defect(
        &mut self,
        id: &DefectId,
        state: DefectState,
        entry: &Entry,
        person: Option<&String>,
        how: &str,
    ) {
        let found = self.defect_places.get(id).and_then(|place| self.defects.get_mut(*place));
        if let Some(defect) = found.filter(|defect| defect.is_open()) {
            defect.state = state;
            defect.how = Some(how.to_owned());
            defect.person = person.cloned();
            defect.ended_at = Some(entry.happened_at);
            defect.ended_by = Some(entry.id());
            defect.noted_by = Some(entry.by.clone());
            self.effects.push(Effect::Closed(Thing::Defect(id.clone())));
        }
    }

    /// A conceded measurement no longer keeps its step open.
    pub(super) fn concede_answer(&mut self, defect: &DefectId, entry: &Entry) {
        let subject = self.defect(defect).and_then(|defect| self.subjects.index(&defect.subject));
        let Some(subject) = subject else { return };
        let is_of = |done: &Done| done.entry == defect.entry;
        let is_step = |step: &StepIx| self.done(*step, subject).iter().any(is_of);
        let Some(step) = self.sequence().steps.indexes().find(is_step) else { return };
        self.changing_windows(step, subject, entry, |state| {
            let all = state.progress.get_mut(step, subject).into_iter().flatten();
            let answers = all.filter(|done| is_of(done)).flat_map(|done| &mut done.answers);
            for judged in answers.filter(|judged| judged.defect.as_ref() == Some(defect)) {
                judged.conceded = true;
            }
        });
    }

    /// Lists a defect that is gone: it was open once, and the record says by what it ended. Where the same defect stands all
    /// the same, nothing is listed.
    pub(super) fn list_void(&mut self, entry: &Entry, void: Void<'_>) {
        let Void { cause, subject, what, how, ended } = void;
        let rule = cause.rule();
        let Some(defect) = self.list_defect(entry, DefectId::new(entry.id(), cause), subject, rule, what) else {
            return;
        };
        defect.state = DefectState::Void;
        defect.how = Some(how);
        if let Some((by, at, person)) = ended {
            (defect.ended_by, defect.ended_at, defect.person) = (Some(by), Some(at), Some(person));
        }
    }

    /// Lists what a struck entry had opened.
    pub(super) fn list_struck(&mut self, entry: &Entry, strike: &Entry) {
        let Body::Struck(struck) = &strike.body else { return };
        let how = format!("its entry was struck: {}", struck.why);
        let list = |state: &mut Self, cause: Cause, subject: &str, what: String| {
            let ended = Some((strike.id(), strike.happened_at, strike.by.clone()));
            state.list_void(entry, Void { cause, subject, what, how: how.clone(), ended });
        };
        match &entry.body {
            Body::DefectOpened(it) => list(self, Cause::Reported, &it.subject, it.what.clone()),
            Body::HoldRefused(it) => {
                let what = format!("{} refused by {}: {}", it.hold, it.person, it.why);
                list(self, Cause::Rule(Rule::HoldPoint, it.hold.clone()), &it.subject, what);
            }
            Body::StepDone(it) => {
                let Some(step) = self.sequence().step(&it.step) else { return };
                let Some(subject) = self.subjects.index(&it.subject) else { return };
                let title = self.sequence().steps[step].title.clone();
                for StoppedBy { rule, key, why } in &it.stopped_by {
                    let what = stopped_in_words(&title, why, it.anyway.as_ref());
                    list(self, Cause::Rule(*rule, key.clone()), &it.subject, what);
                }
                for ask in self.asks_where(step, subject, &it.answers) {
                    let Some(answer) = it.answers.get(&ask.key) else { continue };
                    if judge_answer(&ask, answer) == Some(false) {
                        let what = format!("{title}: {}", out_of_tolerance(&ask, answer));
                        list(self, Cause::Measured(ask.key.clone()), &it.subject, what);
                    }
                }
            }
            Body::StockTaken(it) => {
                for StoppedBy { rule, key, why } in &it.stopped_by {
                    let what = format!("{why}{}", recorded_anyway(it.anyway.as_ref()));
                    list(self, Cause::Rule(*rule, key.clone()), &it.subject, what);
                }
            }
            _ => {}
        }
    }
}

/// A defect that is gone.
pub(super) struct Void<'a> {
    pub cause: Cause,
    pub subject: &'a str,
    pub what: String,
    /// What made it void, in words.
    pub how: String,
    /// The entry that did, when, and whose word it is, where one entry did.
    pub ended: Option<(EntryId, Moment, String)>,
}

/// What a defect of work that a rule stopped says.
pub(super) fn stopped_in_words(title: &str, why: &str, anyway: Option<&String>) -> String {
    format!("{title}: {why}{}", recorded_anyway(anyway))
}

/// The reason that was given for what a rule stopped, to stand behind what it says.
pub(super) fn recorded_anyway(why: Option<&String>) -> String {
    why.map(|why| format!(" (recorded anyway: {why})")).unwrap_or_default()
}
