//! What is wrong with what was recorded, and what ends that.

use std::collections::{BTreeMap, BTreeSet};

use cladlog::record::{Answer, Body, Cause, DefectId, Entry, StepDone};
use cladlog::refusal::Rule;
use cladlog::sequence::{StepIx, Window};

use super::days::to_close;
use super::{Place, Second};

impl Second<'_> {
    pub(super) fn defects(&self) -> BTreeMap<String, (String, String)> {
        let mut defects = BTreeMap::new();
        for at in 0..self.entries.len() {
            let entry = self.entries[at];
            for cause in self.causes(at) {
                let id = DefectId::new(entry.id(), cause);
                let state = self.defect_state(at, &id, self.entries.len());
                defects.insert(id.to_string(), (entry.body.subject().to_owned(), state.to_owned()));
            }
        }
        defects
    }

    /// What is wrong with an entry.
    pub(super) fn causes(&self, at: usize) -> BTreeSet<Cause> {
        let entry = self.entries[at];
        match &entry.body {
            Body::StepDone(done) => self.causes_of_step(at, done),
            Body::DayClosed(_) if to_close(&self.days(at), &entry.device).is_none() => {
                BTreeSet::from([Cause::Rule(Rule::OpenDay, "day".to_owned())])
            }
            // What had not begun, or was over, does not end.
            Body::StoppageEnded(it) => {
                let began = (0..at).rfind(|other| Some(self.entries[*other].id()) == it.stoppage);
                let over = |other: usize| match &self.entries[other].body {
                    Body::StoppageEnded(before) => before.stoppage == it.stoppage,
                    _ => false,
                };
                let wrong = began.is_none_or(|began| (began..at).any(over));
                wrong.then(|| Cause::Rule(Rule::OpenDay, "stoppage".to_owned())).into_iter().collect()
            }
            Body::DefectOpened(_) => BTreeSet::from([Cause::Reported]),
            Body::HoldRefused(it) => BTreeSet::from([Cause::Rule(Rule::HoldPoint, it.hold.clone())]),
            Body::HoldReleased(it) => {
                let again = self.hold(&it.hold, self.subject(&it.subject), at) == "released";
                let wrong = again || !self.may_release(at, it);
                wrong.then(|| Cause::Rule(Rule::HoldPoint, it.hold.clone())).into_iter().collect()
            }
            _ => BTreeSet::new(),
        }
    }

    pub(super) fn causes_of_step(&self, at: usize, done: &StepDone) -> BTreeSet<Cause> {
        let entry = self.entries[at];
        let place = Place { before: at, at: entry.happened_at };
        let begun = done.began.unwrap_or(entry.happened_at);
        let (index, on) = (self.sequence.step(&done.step).unwrap(), self.subject(&done.subject));
        let step = &self.sequence.steps[index];
        let mut causes = BTreeSet::new();
        let mut found = |wrong: bool, rule: Rule, key: &str| {
            if wrong {
                causes.insert(Cause::Rule(rule, key.to_owned()));
            }
        };
        let windows: Vec<&Window> = self.sequence.windows.iter().filter(|window| window.to == index).collect();
        // What it waits for by a window is judged there.
        let after = step.after.iter().filter(|step| windows.iter().all(|window| window.from != **step));
        let waits = |before: StepIx| self.related(before, on).any(|on| !self.is_complete(before, on, place));
        found(after.copied().any(waits), Rule::Order, "order");
        if let (true, Some(below)) = (step.in_turn, self.below(index, on)) {
            let with_it = (0..self.entries.len()).any(|other| {
                self.together[other] == self.together[at] && self.entries[other].body.subject() == below.to_string()
            });
            found(!with_it && !self.is_complete(index, below, place), Rule::Order, "order");
        }
        for (gate, _) in self.sequence.steps.indexed().filter(|(_, gate)| gate.gates.contains(&index)) {
            let mut lower = self.row(on).filter(|other| other.number() < on.number());
            let open = lower
                .any(|lower| self.sequence.asked_of(gate, lower, self.job) && !self.is_complete(gate, lower, place));
            found(open, Rule::Order, "order");
        }
        for hold in self.sequence.holds.iter().filter(|hold| hold.holds.contains(&index)) {
            let held = self.subjects.iter().filter(|place| place.kind() == hold.per && self.belong(place, on));
            found(held.into_iter().any(|on| self.hold(&hold.key, on, at) != "released"), Rule::HoldPoint, &hold.key);
        }
        for window in windows {
            match self.work(window.from, on, at).last() {
                None => found(true, Rule::Order, "order"),
                Some(from) if self.is_wrong(*from, at) => found(true, Rule::Order, "order"),
                Some(from) => {
                    found(self.is_undone(window.from, on, *from, place), Rule::Order, "order");
                    let run = self.run(window, on, *from, place);
                    let used = self.work(index, on, at).last().is_some_and(|to| to > from)
                        && self.is_spoiled(index, on, place);
                    found(used || !run.is_open(begun, place.at), Rule::Window, &window.key);
                }
            }
        }
        for limit in step.limits.iter().map(|limit| &self.sequence.limits[*limit]) {
            found(!self.walls(on).iter().all(|wall| self.is_within(limit, wall, place)), Rule::Condition, &limit.key);
        }
        match self.day(&entry.device, place) {
            None => found(true, Rule::OpenDay, "day"),
            Some(day) => {
                for caution in step.cautions.iter().map(|caution| &self.sequence.cautions[*caution].key) {
                    let missing =
                        day.crew.iter().any(|name| !day.acknowledged.contains(&(caution.clone(), name.clone())));
                    found(missing, Rule::Caution, caution);
                }
            }
        }
        let unaware = |other: &Entry| !entry.had_seen(&other.id()) && !other.had_seen(&entry.id());
        found(self.work(index, on, at).iter().any(|other| unaware(self.entries[*other])), Rule::Strike, "twice");
        let wrong = done.answers.keys().filter(|key| self.is_wrong_answer(at, done, key));
        causes.extend(wrong.map(|key| Cause::Measured(key.clone())));
        causes
    }

    /// Where a defect that an entry opened stands before a place: what ends it first, counts.
    pub(super) fn defect_state(&self, opened: usize, id: &DefectId, before: usize) -> &'static str {
        let by = &self.entries[opened].body;
        let ends = |at: usize| match (&self.entries[at].body, by, &id.cause) {
            (Body::DefectClosed(it), ..) => (it.defect == *id).then_some("closed"),
            (Body::DefectConceded(it), ..) => (it.defect == *id).then_some("conceded"),
            (Body::StepDone(again), Body::StepDone(first), Cause::Measured(ask)) => {
                let same = again.step == first.step && again.subject == first.subject;
                (same && again.answers.contains_key(ask)).then_some("closed")
            }
            (Body::HoldReleased(it), Body::HoldRefused(refused), _) => {
                let same = it.hold == refused.hold && it.subject == refused.subject;
                (same && self.may_release(at, it)).then_some("closed")
            }
            _ => None,
        };
        (opened + 1..before).find_map(ends).unwrap_or("open")
    }

    pub(super) fn is_wrong_answer(&self, at: usize, done: &StepDone, key: &str) -> bool {
        let step = &self.bounds(at).steps[self.sequence.step(&done.step).unwrap()];
        let ask = step.asks.iter().find(|ask| ask.key == key).unwrap();
        let choice = ask.by.as_ref().and_then(|by| done.answers.get(by)).map(ToString::to_string);
        let bound = ask.bounds.iter().find(|bound| Some(&bound.choice) == choice.as_ref());
        let tolerance = bound.map_or(&ask.tolerance, |bound| &bound.tolerance);
        let out = |value: f64| {
            tolerance.least.is_some_and(|least| value < least) || tolerance.most.is_some_and(|most| value > most)
        };
        match &done.answers[key] {
            Answer::Yes(yes) => !yes,
            Answer::Number(value) => out(*value),
            // By the law of cosines, where the program goes by the difference of the squares.
            Answer::Frame(frame) => {
                let [long, short] = frame.diagonals_mm;
                let side = ((long * long + short * short) / 2.0 - frame.width_mm.powi(2)).sqrt();
                let cosine = (frame.width_mm.powi(2) + side * side - short * short) / (2.0 * frame.width_mm * side);
                out((ask.square_over.unwrap() * cosine.abs() * 100.0).round() / 100.0)
            }
            _ => false,
        }
    }

    /// Whether an answer of a step done is wrong and, before a place, not conceded.
    pub(super) fn is_wrong(&self, done: usize, before: usize) -> bool {
        let Body::StepDone(it) = &self.entries[done].body else { return false };
        it.answers.keys().any(|key| {
            let id = DefectId::new(self.entries[done].id(), Cause::Measured(key.clone()));
            self.is_wrong_answer(done, it, key) && self.defect_state(done, &id, before) != "conceded"
        })
    }
}
