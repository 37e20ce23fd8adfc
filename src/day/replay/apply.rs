//! Folding one record into the state, and what that opens and closes.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::fold::{ReplayError, read_sequence};
use crate::building::Person;
use crate::conditions::forecast::Forecast;
use crate::day::facts::{
    Day, Defect, DefectState, Done, Effect, Fact, ForecastInForce, HoldState, HoldStatus, Judged, SealPlan, Stoppage,
    Taken, Thing,
};
use crate::day::rules::{
    Attempt, expired, has_role, judge_answer, judge_attempt, judge_batches, may_release, out_of_tolerance, stock_of,
};
use crate::day::state::State;
use crate::record::{
    AskRelease, Body, Cause, CloseDay, DefectId, EndStoppage, Entry, KeepPlan, RefuseHold, ReleaseHold, StartStoppage,
    StepDone, TakeReading, TakeStock,
};
use crate::refusal::{Refusal, Rule};

type Effects = Vec<Effect>;

impl State {
    /// Folds one more record in: the entries that were recorded at once. Records come in the order in which things
    /// happened.
    ///
    /// Gives what it opened and closed.
    ///
    /// # Errors
    /// [`ReplayError::Sequence`] when it adopts a sequence that can't be read.
    pub(in crate::day) fn apply(&mut self, record: &[&Entry]) -> Result<Effects, ReplayError> {
        let mut effects = Effects::new();
        // A lone entry is done together with nothing.
        let of_record = record.iter().filter(|_| record.len() > 1);
        let together: Vec<usize> = of_record.filter_map(|entry| self.subjects.index(entry.body.subject())).collect();
        for entry in record {
            if self.apply_entry(entry, &together, &mut effects)?.is_none() {
                self.not_understood.push(entry.id());
            }
        }
        Ok(effects)
    }

    /// Folds an entry in; `None` for one that names what is not on the job, or is of a kind that is not known.
    fn apply_entry(
        &mut self,
        entry: &Entry,
        together: &[usize],
        effects: &mut Effects,
    ) -> Result<Option<()>, ReplayError> {
        let device = Some(&*entry.device);
        match &entry.body {
            Body::JobAdded(_) | Body::Struck(_) | Body::PhotoAdded(_) | Body::Noted(_) => {}
            Body::SequenceAdopted(it) => self.adopt(read_sequence(&entry.id().to_string(), &it.sequence)?),
            Body::PersonAdded(it) => {
                if self.job.person(&it.name).is_none() {
                    self.job.people.push(Person { name: it.name.clone(), roles: it.roles.clone() });
                }
            }
            Body::DayOpened(it) => {
                let (device, at, date) = (Arc::clone(&entry.device), entry.happened_at, entry.happened_at.date());
                effects.push(Effect::Opened(Thing::Day { device: Arc::clone(&device), date }));
                self.days.push(Day {
                    device,
                    date,
                    opened_at: at,
                    closed_at: None,
                    crew: it.crew.iter().map(|name| (name.clone(), at)).collect(),
                    talk: it.talk.clone(),
                    hazards: it.hazards.clone(),
                    acknowledged: BTreeMap::new(),
                    hours: BTreeMap::new(),
                    note: None,
                });
            }
            Body::DayJoined(it) => {
                if let Some(day) = self.day_at(device, entry.happened_at) {
                    let crew = &mut self.days[day].crew;
                    let new: Vec<_> = it.crew.iter().filter(|name| crew.iter().all(|(has, _)| has != *name)).collect();
                    crew.extend(new.into_iter().map(|name| (name.clone(), entry.happened_at)));
                }
            }
            Body::DayClosed(it) => self.close_day(entry, it, effects),
            Body::ForecastAdded(it) => {
                // Hours that no forecast can have were never taken by this program: nothing is expected by them.
                if let Ok(forecast) = Forecast::new(it.hours.clone()) {
                    let (entry, at) = (entry.id(), entry.happened_at);
                    self.forecast = Some(ForecastInForce { entry, at, source: it.source.clone(), forecast });
                }
            }
            Body::CautionAcknowledged(it) => {
                if let Some(day) = self.day_at(device, entry.happened_at) {
                    let of_caution = self.days[day].acknowledged.entry(it.caution.clone()).or_default();
                    for person in &it.people {
                        of_caution.entry(person.clone()).or_insert(entry.happened_at);
                    }
                }
            }
            Body::ReadingTaken(it) => return Ok(self.take_reading(entry, it, effects)),
            Body::StepDone(it) => return Ok(self.do_step(entry, it, together, effects)),
            Body::HoldAsked(it) => return Ok(self.ask_release(entry, it)),
            Body::HoldReleased(it) => return Ok(self.release_hold(entry, it, effects)),
            Body::HoldRefused(it) => return Ok(self.refuse_hold(entry, it, effects)),
            Body::PlanKept(it) => return Ok(self.keep_plan(entry, it)),
            Body::DefectOpened(it) => {
                self.open_defect(entry, Cause::Reported, &it.subject, None, it.what.clone(), effects);
            }
            Body::DefectClosed(it) => {
                self.end_defect(&it.defect, DefectState::Closed, entry, Some(&it.person), &it.how, effects);
            }
            Body::DefectConceded(it) => {
                self.end_defect(&it.defect, DefectState::Conceded, entry, Some(&it.person), &it.why, effects);
                self.concede_answer(&it.defect, entry, effects);
            }
            Body::BatchDelivered(it) => self.stock.deliveries.push(Fact::of(entry, it)),
            Body::StockTaken(it) => return Ok(self.take_stock(entry, it, effects)),
            Body::StoppageStarted(it) => return Ok(self.start_stoppage(entry, it, effects)),
            Body::StoppageEnded(it) => return Ok(self.end_stoppage(entry, it, effects)),
            Body::ExtraAdded(it) => {
                if self.subjects.index(&it.subject).is_none() {
                    return Ok(None);
                }
                self.extras.push(Fact::of(entry, it));
            }
            Body::Unknown { .. } => return Ok(None),
        }
        Ok(Some(()))
    }

    /// A day is closed by the device that opened it, and by no other.
    fn close_day(&mut self, entry: &Entry, close: &CloseDay, effects: &mut Effects) {
        let at = entry.happened_at;
        let open = |day: &&mut Day| {
            day.device == entry.device && day.opened_at <= at && day.closed_at.is_none_or(|closed| at < closed)
        };
        match self.days.iter_mut().rev().find(open) {
            Some(day) => {
                day.closed_at = Some(at);
                day.hours = close.hours.clone();
                day.note = close.note.clone();
                effects.push(Effect::Closed(Thing::Day { device: Arc::clone(&day.device), date: day.date }));
            }
            None => {
                let what = "close the day: no site day was open then".to_owned();
                self.open_defect(
                    entry,
                    Cause::Rule(Rule::R12, "day".to_owned()),
                    "job",
                    Some(Rule::R12),
                    what,
                    effects,
                );
            }
        }
    }

    fn take_reading(&mut self, entry: &Entry, reading: &TakeReading, effects: &mut Effects) -> Option<()> {
        let wall = self.subjects.index(&reading.subject)?;
        let adverse = reading.rain || reading.air_c <= 0.0 || reading.surface_c <= 0.0;
        let windows = self.sequence().windows.iter().enumerate();
        let moved =
            windows.filter(|(_, window)| !window.by_surface.is_empty() || adverse && !window.lapses_on.is_empty());
        let exposed = moved.flat_map(|(index, window)| {
            let on = self.sequence().steps[window.from].on;
            self.subjects.related(wall, on).iter().map(move |subject| (index, *subject))
        });
        let at = entry.happened_at;
        let ran: Vec<(usize, usize)> = exposed.filter(|(window, on)| self.runs_at(*window, *on, at)).collect();
        let readings = self.readings.entry(wall).or_default();
        if adverse {
            self.wet_or_freezing.entry(wall).or_default().push(readings.len());
        }
        readings.push(Fact::of(entry, reading));
        for (window, subject) in ran {
            if !self.runs_at(window, subject, at) {
                effects.push(Effect::Closed(self.window(window, subject)));
            }
        }
        Some(())
    }

    fn do_step(
        &mut self,
        entry: &Entry,
        step_done: &StepDone,
        together: &[usize],
        effects: &mut Effects,
    ) -> Option<()> {
        let StepDone { step, subject: on, answers, anyway } = step_done;
        let (step, subject) = (self.sequence().step(step)?, self.subjects.index(on)?);
        let at = entry.happened_at;
        let attempt = Attempt { step, subject, at, device: Some(&entry.device), together };
        let mut breaches = judge_attempt(self, &attempt, &|step, subject| self.complete(step, subject, at));
        let edition = Arc::clone(self.editions.last()?);
        let wanted = &edition.steps[step];
        breaches.extend(judge_batches(self, wanted, answers, at));
        for (_, product, batch) in stock_of(wanted, answers) {
            self.stock.taken.push(Arc::new(Taken {
                entry: entry.id(),
                at,
                by: entry.by.clone(),
                product: product.to_owned(),
                batch: batch.map(str::to_owned),
                subject,
                how: Default::default(),
                count: None,
                step: Some(wanted.key.clone()),
                note: None,
                anyway: anyway.clone(),
            }));
        }
        for breach in breaches {
            let why = recorded_anyway(anyway.as_ref());
            let what = format!("{}: {}{why}", wanted.title, breach.why);
            self.open_defect(entry, Cause::Rule(breach.rule, breach.key), on, Some(breach.rule), what, effects);
        }
        if let Some(what) = self.done_unaware(entry, step, subject) {
            let (cause, what) = (Cause::Rule(Rule::R2, "twice".to_owned()), format!("{}: {what}", wanted.title));
            self.open_defect(entry, cause, on, Some(Rule::R2), what, effects);
        }
        let mut judged = Vec::with_capacity(answers.len());
        // What is held against a plan is no question where none is kept.
        for ask in self.asks(step, subject) {
            let Some(answer) = answers.get(&ask.key) else { continue };
            let held = judge_answer(&ask, answer);
            let cause = Cause::Measured(ask.key.clone());
            let defect = (held == Some(false)).then(|| DefectId::new(entry.id(), cause.clone()));
            let how = match &defect {
                None => "measured again, in tolerance".to_owned(),
                Some(defect) => format!("measured again, still out: {defect}"),
            };
            self.end_measured(step, subject, &ask.key, entry, &how, effects);
            if defect.is_some() {
                let what = format!("{}: {}", wanted.title, out_of_tolerance(&ask, answer));
                self.open_defect(entry, cause, on, Some(Rule::R8), what, effects);
            }
            judged.push(Judged { ask, answer: answer.clone(), held, defect, conceded: false });
        }
        let done = Done {
            entry: entry.id(),
            at,
            by: entry.by.clone(),
            day: self.day_at(Some(&entry.device), at),
            edition: self.editions.len() - 1,
            answers: judged,
            anyway: anyway.clone(),
            seen: entry.seen.clone(),
        };
        self.changing_windows(step, subject, entry, effects, |state| {
            let slot = state.slot(step, subject);
            // Most steps are done once: room for more than that would be most of the memory.
            state.progress[slot].reserve_exact(1);
            state.progress[slot].push(done);
        });
        Some(())
    }

    /// What somebody else recorded of a step, when neither knew of the other: one of the two is not so.
    fn done_unaware(&self, entry: &Entry, step: usize, subject: usize) -> Option<String> {
        let other = self.done(step, subject).iter().rev().find(|done| unaware(entry, done))?;
        let when = other.at.clock(entry.happened_at.date());
        Some(format!(
            "also recorded by {} at {when} ({}), neither knowing of the other: strike the one that is not so",
            other.by, other.entry
        ))
    }

    /// Ends the open defects of earlier measurements of one ask.
    fn end_measured(
        &mut self,
        step: usize,
        subject: usize,
        ask: &str,
        entry: &Entry,
        how: &str,
        effects: &mut Effects,
    ) {
        let earlier = self.done(step, subject).iter().filter_map(|done| done.answer(ask)?.defect.clone());
        let earlier: Vec<DefectId> = earlier.collect();
        for defect in earlier {
            self.end_defect(&defect, DefectState::Closed, entry, None, how, effects);
        }
    }

    /// Changes what is done of a step on a subject, and notes the windows that this starts and ends.
    fn changing_windows(
        &mut self,
        step: usize,
        subject: usize,
        entry: &Entry,
        effects: &mut Effects,
        change: impl FnOnce(&mut Self),
    ) {
        let at = entry.happened_at;
        let windows = self.sequence().windows.iter().enumerate();
        let touched: Vec<usize> =
            windows.filter(|(_, window)| window.from == step || window.to == step).map(|(index, _)| index).collect();
        let ran: Vec<bool> = touched.iter().map(|window| self.runs_at(*window, subject, at)).collect();
        change(self);
        for (window, ran) in touched.into_iter().zip(ran) {
            match (ran, self.runs_at(window, subject, at)) {
                (false, true) => effects.push(Effect::Opened(self.window(window, subject))),
                (true, false) => effects.push(Effect::Closed(self.window(window, subject))),
                _ => {}
            }
        }
    }

    /// Whether a window runs on a subject: begun, not answered, not lapsed by `at`.
    fn runs_at(&self, window: usize, subject: usize, at: crate::moment::Moment) -> bool {
        self.run(window, subject).is_some_and(|run| run.answered.is_none() && run.lapsed(at).is_none())
    }

    fn window(&self, window: usize, subject: usize) -> Thing {
        Thing::Window { window: self.sequence().windows[window].key.clone(), subject }
    }

    fn ask_release(&mut self, entry: &Entry, asked: &AskRelease) -> Option<()> {
        let (hold, subject) = (self.sequence().hold(&asked.hold)?, self.subjects.index(&asked.subject)?);
        self.status(hold, subject).asked_at = Some(entry.happened_at);
        Some(())
    }

    /// The status of a hold point on a subject, to be changed.
    fn status(&mut self, hold: usize, subject: usize) -> &mut HoldStatus {
        let fresh = self.hold(hold, subject);
        self.holds.entry((hold, subject)).or_insert(fresh)
    }

    fn release_hold(&mut self, entry: &Entry, release: &ReleaseHold, effects: &mut Effects) -> Option<()> {
        let (hold, subject) = (self.sequence().hold(&release.hold)?, self.subjects.index(&release.subject)?);
        if let Err(refusal) = may_release(self, hold, subject, &release.person, entry.happened_at) {
            let cause = Cause::Rule(Rule::R5, release.hold.clone());
            self.open_refused(entry, cause, &release.subject, &refusal, effects);
            return Some(());
        }
        let role = self.role_of(hold, &release.person);
        let (person, how) = (release.person.clone(), release.how.clone());
        let status = self.status(hold, subject);
        let refusals = std::mem::take(&mut status.refusals);
        status.state = HoldState::Released;
        status.role = role;
        status.person = Some(person);
        status.at = Some(entry.happened_at);
        status.how = Some(how);
        status.evidence.clone_from(&release.evidence);
        status.entry = Some(entry.id());
        effects.push(Effect::Closed(Thing::Hold { hold: release.hold.clone(), subject }));
        for refusal in refusals {
            let how = "looked at again and released";
            self.end_defect(&refusal, DefectState::Closed, entry, Some(&release.person), how, effects);
        }
        Some(())
    }

    fn refuse_hold(&mut self, entry: &Entry, refuse: &RefuseHold, effects: &mut Effects) -> Option<()> {
        let (hold, subject) = (self.sequence().hold(&refuse.hold)?, self.subjects.index(&refuse.subject)?);
        let RefuseHold { hold: key, subject: on, person, why } = refuse;
        let cause = Cause::Rule(Rule::R5, key.clone());
        let what = format!("refuse hold point {key} on {on}");
        if let Err(refusal) = has_role(self, person, &self.sequence().holds[hold].roles, &what) {
            self.open_refused(entry, cause, on, &refusal, effects);
            return Some(());
        }
        let role = self.role_of(hold, person);
        let opened = self.is_released(hold, subject);
        let status = self.status(hold, subject);
        status.state = HoldState::Refused;
        status.role = role;
        status.person = Some(person.clone());
        status.at = Some(entry.happened_at);
        status.how = Some(why.clone());
        status.evidence = None;
        status.entry = Some(entry.id());
        status.refusals.push(DefectId::new(entry.id(), cause.clone()));
        let thing = Thing::Hold { hold: key.clone(), subject };
        effects.push(if opened { Effect::Opened(thing) } else { Effect::Changed(thing) });
        self.open_defect(entry, cause, on, Some(Rule::R5), format!("{key} refused by {person}: {why}"), effects);
        Some(())
    }

    /// The role by which a person has a say over a hold point.
    fn role_of(&self, hold: usize, person: &str) -> Option<String> {
        let roles = &self.sequence().holds[hold].roles;
        self.person(person)?.roles.iter().find(|role| roles.contains(role)).cloned()
    }

    fn keep_plan(&mut self, entry: &Entry, keep: &KeepPlan) -> Option<()> {
        let subject = self.subjects.index(&keep.subject)?;
        let plan = Fact::of(entry, keep);
        self.seal_plans.extend(SealPlan::read(&plan));
        self.plans.insert((keep.sum.clone(), subject), plan);
        Some(())
    }

    fn take_stock(&mut self, entry: &Entry, take: &TakeStock, effects: &mut Effects) -> Option<()> {
        let subject = self.subjects.index(&take.subject)?;
        let at = entry.happened_at;
        if take.how.is_on_the_wall()
            && let Some(breach) = expired(self, "batch", &take.product, &take.batch, at)
        {
            let what = format!("{}{}", breach.why, recorded_anyway(take.anyway.as_ref()));
            self.open_defect(entry, Cause::Rule(Rule::R7, breach.key), &take.subject, Some(Rule::R7), what, effects);
        }
        self.stock.taken.push(Arc::new(Taken {
            entry: entry.id(),
            at,
            by: entry.by.clone(),
            product: take.product.clone(),
            batch: Some(take.batch.clone()),
            subject,
            how: take.how,
            count: take.count,
            step: None,
            note: take.note.clone(),
            anyway: take.anyway.clone(),
        }));
        Some(())
    }

    fn start_stoppage(&mut self, entry: &Entry, start: &StartStoppage, effects: &mut Effects) -> Option<()> {
        self.subjects.index(&start.subject)?;
        self.stoppages.push(Stoppage {
            entry: entry.id(),
            subject: start.subject.clone(),
            cause: start.cause.clone(),
            notified: start.notified.clone(),
            people: start.people,
            by: entry.by.clone(),
            started_at: entry.happened_at,
            ended_at: None,
            ended_by: None,
            note: None,
        });
        effects.push(Effect::Opened(Thing::Stoppage(entry.id())));
        Some(())
    }

    fn end_stoppage(&mut self, entry: &Entry, end: &EndStoppage, effects: &mut Effects) -> Option<()> {
        let id = end.stoppage.as_ref()?;
        match self.stoppages.iter_mut().find(|one| one.entry == *id && one.ended_at.is_none()) {
            Some(found) => {
                found.ended_at = Some(entry.happened_at);
                found.ended_by = Some(entry.id());
                found.note.clone_from(&end.note);
                effects.push(Effect::Closed(Thing::Stoppage(id.clone())));
            }
            None => {
                let cause = Cause::Rule(Rule::R12, "stoppage".to_owned());
                let what = format!("end stoppage {id}: it was not open then");
                self.open_defect(entry, cause, "job", Some(Rule::R12), what, effects);
            }
        }
        Some(())
    }

    /// A rule finds an entry out of order that nobody can refuse any more: it becomes a defect.
    fn open_refused(&mut self, entry: &Entry, cause: Cause, on: &str, refusal: &Refusal, effects: &mut Effects) {
        let what = format!("{}: {}", refusal.what, refusal.why);
        self.open_defect(entry, cause, on, Some(refusal.rule), what, effects);
    }

    fn open_defect(
        &mut self,
        entry: &Entry,
        cause: Cause,
        subject: &str,
        rule: Option<Rule>,
        what: String,
        effects: &mut Effects,
    ) {
        let id = DefectId::new(entry.id(), cause);
        if self.defect_places.contains_key(&id) {
            return;
        }
        self.defect_places.insert(id.clone(), self.defects.len());
        effects.push(Effect::Opened(Thing::Defect(id.clone())));
        self.defects.push(Defect {
            id,
            subject: subject.to_owned(),
            state: DefectState::Open,
            rule,
            what,
            opened_at: entry.happened_at,
            how: None,
            person: None,
            ended_at: None,
            ended_by: None,
        });
    }

    fn end_defect(
        &mut self,
        id: &DefectId,
        state: DefectState,
        entry: &Entry,
        person: Option<&String>,
        how: &str,
        effects: &mut Effects,
    ) {
        let found = self.defect_places.get(id).and_then(|place| self.defects.get_mut(*place));
        if let Some(defect) = found.filter(|defect| defect.is_open()) {
            defect.state = state;
            defect.how = Some(how.to_owned());
            defect.person = person.cloned();
            defect.ended_at = Some(entry.happened_at);
            defect.ended_by = Some(entry.id());
            effects.push(Effect::Closed(Thing::Defect(id.clone())));
        }
    }

    /// A conceded measurement no longer keeps its step open.
    fn concede_answer(&mut self, defect: &DefectId, entry: &Entry, effects: &mut Effects) {
        let subject = self.defect(defect).and_then(|defect| self.subjects.index(&defect.subject));
        let Some(subject) = subject else { return };
        let is_of = |done: &Done| done.entry == defect.entry;
        let Some(step) = (0..self.sequence().steps.len()).find(|step| self.done(*step, subject).iter().any(is_of))
        else {
            return;
        };
        self.changing_windows(step, subject, entry, effects, |state| {
            let slot = state.slot(step, subject);
            let answers = state.progress[slot].iter_mut().filter(|done| is_of(done)).flat_map(|done| &mut done.answers);
            for judged in answers.filter(|judged| judged.defect.as_ref() == Some(defect)) {
                judged.conceded = true;
            }
        });
    }
}

/// Whether what was done before and an entry were recorded by two crews of which neither knew what the other had done.
fn unaware(entry: &Entry, done: &Done) -> bool {
    let knew = done.seen.get(&*entry.device).is_some_and(|last| entry.seq <= *last);
    entry.device != done.entry.device && !entry.had_seen(&done.entry) && !knew
}

fn recorded_anyway(why: Option<&String>) -> String {
    why.map(|why| format!(" (recorded anyway: {why})")).unwrap_or_default()
}
