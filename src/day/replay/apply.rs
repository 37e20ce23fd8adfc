//! Folding one record into the state, and what that opens and closes.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::defects::{Void, recorded_anyway};
use super::fold::{ReplayError, check_building, read_sequence};
use crate::building::{Job, Person};
use crate::conditions::forecast::Forecast;
use crate::day::facts::{
    Adoption, Day, DefectState, Effect, Fact, ForecastInForce, SealPlan, Stay, Stoppage, Taken, Thing,
};
use crate::day::rules::{expired, has_role};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{
    AdoptSequence, Body, Cause, CloseDay, EndStoppage, Entry, KeepPlan, ReviseJob, StartStoppage, StoppedBy,
    TakeReading, TakeStock, crew,
};
use crate::refusal::Rule;
use crate::sequence::changes;

impl State {
    /// Folds one more record in: the entries that were recorded at once. Records come in the order in which things
    /// happened.
    ///
    /// Gives what it opened and closed.
    ///
    /// # Errors
    /// [`ReplayError::Sequence`] when it adopts a sequence that can't be read.
    pub(in crate::day) fn apply(&mut self, record: &[&Entry]) -> Result<Vec<Effect>, ReplayError> {
        // A single entry has nothing that was recorded together with it.
        let of_record = record.iter().filter(|_| record.len() > 1);
        let together: Vec<usize> = of_record.filter_map(|entry| self.subjects.index(entry.body.subject())).collect();
        for entry in record {
            if self.apply_entry(entry, &together)?.is_none() {
                self.not_understood.push(entry.id());
            }
        }
        Ok(std::mem::take(&mut self.effects))
    }

    /// Folds an entry in; `None` for one that names what is not on the job, or is of a kind that is not known.
    fn apply_entry(&mut self, entry: &Entry, together: &[usize]) -> Result<Option<()>, ReplayError> {
        let device = Some(&*entry.device);
        self.folded += 1;
        #[cfg(test)]
        super::fold::FOLDED.set(super::fold::FOLDED.get() + 1);
        match &entry.body {
            Body::JobAdded(_)
            | Body::Struck(_)
            | Body::PhotoAdded(_)
            | Body::KeyUsed(_)
            | Body::PhonePaired(_)
            | Body::PhoneForgotten(_)
            | Body::SayingConfirmed(_)
            | Body::StampTaken(_)
            | Body::Noted(_) => {}
            Body::SequenceAdopted(it) => self.adopt(entry, it)?,
            Body::JobRevised(it) => self.take_revision(entry, it)?,
            Body::PersonAdded(it) => {
                if self.job.person(&it.name).is_none() {
                    self.job.people.push(Person { name: it.name.clone(), roles: it.roles.clone() });
                }
            }
            Body::DayOpened(it) => {
                let (device, at, date) = (Arc::clone(&entry.device), entry.happened_at, entry.happened_at.date());
                self.effects.push(Effect::Opened(Thing::Day { device: Arc::clone(&device), date }));
                self.days.push(Day {
                    device,
                    date,
                    opened_at: at,
                    closed_at: None,
                    crew: it.crew.iter().map(|name| Stay { name: name.clone(), from: at, until: None }).collect(),
                    talk: it.talk.clone(),
                    hazards: it.hazards.clone(),
                    acknowledged: BTreeMap::new(),
                    hours: BTreeMap::new(),
                    note: None,
                });
            }
            Body::DayJoined(it) => {
                if let Some(day) = self.day_at(device, entry.happened_at) {
                    self.days[day].join(&it.crew, entry.happened_at);
                }
            }
            Body::DayLeft(it) => {
                if let Some(day) = self.day_at(device, entry.happened_at) {
                    self.days[day].leave(&it.crew, entry.happened_at);
                }
            }
            Body::DayClosed(it) => self.close_day(entry, it),
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
            Body::ReadingTaken(it) => return Ok(self.take_reading(entry, it)),
            Body::StepDone(it) => return Ok(self.do_step(entry, it, together)),
            Body::HoldAsked(it) => return Ok(self.ask_release(entry, it)),
            Body::HoldReleased(it) => return Ok(self.release_hold(entry, it)),
            Body::HoldRefused(it) => return Ok(self.refuse_hold(entry, it)),
            Body::PlanKept(it) => return Ok(self.keep_plan(entry, it)),
            Body::DefectOpened(it) => self.open_defect(entry, Cause::Reported, &it.subject, it.what.clone()),
            Body::DefectClosed(it) => {
                self.end_defect(&it.defect, DefectState::Closed, entry, Some(&it.person), &it.how);
            }
            Body::DefectConceded(it) => {
                self.end_defect(&it.defect, DefectState::Conceded, entry, Some(&it.person), &it.why);
                self.concede_answer(&it.defect, entry);
            }
            Body::BatchDelivered(it) => self.stock.deliveries.push(Fact::of(entry, self.folded, it)),
            Body::StockTaken(it) => return Ok(self.take_stock(entry, it)),
            Body::StoppageStarted(it) => return Ok(self.start_stoppage(entry, it)),
            Body::StoppageEnded(it) => return Ok(self.end_stoppage(entry, it)),
            Body::ExtraAdded(it) => {
                if self.subjects.index(&it.subject).is_none() {
                    return Ok(None);
                }
                self.extras.push(Fact::of(entry, self.folded, it));
            }
            Body::Unknown { .. } => return Ok(None),
        }
        Ok(Some(()))
    }

    /// Takes an edition into force, also one that whoever adopted it had no say over: work went by it.
    fn adopt(&mut self, entry: &Entry, adopt: &AdoptSequence) -> Result<(), ReplayError> {
        let id = entry.id();
        let sequence = read_sequence(&id.to_string(), &adopt.sequence)?;
        let may = has_role(self, &entry.by, &self.sequence().authority.adopt, "adopt a sequence");
        if let Err(refusal) = may {
            self.open_refused(entry, Cause::Rule(Rule::R10, "adopt".to_owned()), "job", &refusal);
        }
        self.adoptions.push(Adoption {
            entry: id.clone(),
            at: entry.recorded_at,
            by: entry.by.clone(),
            why: adopt.why.clone(),
            changes: changes(&self.pinned, &sequence),
        });
        self.put_in_force(Arc::new(sequence), Some(id));
        Ok(())
    }

    /// Takes a revised building into force, also one that leaves recorded work without its part.
    fn take_revision(&mut self, entry: &Entry, it: &ReviseJob) -> Result<(), ReplayError> {
        check_building(&it.building, &entry.id())?;
        let orphaned = self.orphaned_by(&it.building);
        if !orphaned.is_empty() {
            let what = format!("revise the job: work is recorded on {}", orphaned.join("; "));
            self.open_defect(entry, Cause::Rule(Rule::R2, "revised".to_owned()), "job", what);
        }
        self.revise(Job::clone(&it.building), &entry.by, entry.recorded_at);
        Ok(())
    }

    /// A day is closed by the device that opened it, or by a copy of its file, and by no other.
    fn close_day(&mut self, entry: &Entry, close: &CloseDay) {
        let at = entry.happened_at;
        let open = |own: &dyn Fn(&Day) -> bool| {
            let of = |day: &Day| own(day) && day.opened_at <= at && day.closed_at.is_none_or(|closed| at < closed);
            self.days.iter().rposition(of)
        };
        let own = open(&|day| day.device == entry.device);
        match own.or_else(|| open(&|day| crew(&day.device) == crew(&entry.device))) {
            Some(day) => {
                let day = &mut self.days[day];
                day.closed_at = Some(at);
                day.hours = close.hours.clone();
                day.note = close.note.clone();
                self.effects.push(Effect::Closed(Thing::Day { device: Arc::clone(&day.device), date: day.date }));
            }
            None => {
                let what = "close the day: no site day was open then".to_owned();
                self.open_defect(entry, Cause::Rule(Rule::R12, "day".to_owned()), "job", what);
            }
        }
    }

    fn take_reading(&mut self, entry: &Entry, reading: &TakeReading) -> Option<()> {
        let on = self.subjects.index(&reading.subject)?;
        let adverse = reading.rain || reading.is_frost();
        let fact = Fact::of(entry, self.folded, reading);
        self.weather(on, adverse, reading.surface_c.is_some(), entry.happened_at, |state, walls| {
            for wall in walls {
                let readings = state.readings.entry(*wall).or_default();
                if adverse {
                    state.wet_or_freezing.entry(*wall).or_default().push(readings.len());
                }
                readings.push(fact.clone());
            }
        });
        Some(())
    }

    /// Takes note of weather on the walls of a subject, and of the windows that it ends there: those that `adverse`
    /// weather lapses, and those whose bounds are by the `surface`.
    fn weather(&mut self, on: usize, adverse: bool, surface: bool, at: Moment, note: impl FnOnce(&mut Self, &[usize])) {
        let walls = self.subjects.exposed_walls(on).to_vec();
        let mut exposed: Vec<(usize, usize)> = Vec::new();
        for (index, window) in self.sequence().windows.iter().enumerate() {
            if surface && !window.by_surface.is_empty() || adverse && !window.lapses_on.is_empty() {
                for kind in &self.sequence().steps[window.from].on {
                    let related = walls.iter().flat_map(|wall| self.subjects.related(*wall, *kind));
                    exposed.extend(related.map(|subject| (index, *subject)));
                }
            }
        }
        exposed.sort_unstable();
        exposed.dedup();
        exposed.retain(|(window, subject)| self.runs_at(*window, *subject, at));
        note(self, &walls);
        for (window, subject) in exposed {
            if !self.runs_at(window, subject, at) {
                self.effects.push(Effect::Closed(self.window(window, subject)));
            }
        }
    }

    fn keep_plan(&mut self, entry: &Entry, keep: &KeepPlan) -> Option<()> {
        let subject = self.subjects.index(&keep.subject)?;
        let plan = Fact::of(entry, self.folded, keep);
        self.seal_plans.extend(SealPlan::read(&plan));
        self.plans.insert((keep.sum.clone(), subject), plan);
        Some(())
    }

    fn take_stock(&mut self, entry: &Entry, take: &TakeStock) -> Option<()> {
        let subject = self.subjects.index(&take.subject)?;
        let at = entry.happened_at;
        let breach =
            take.how.is_on_the_wall().then(|| expired(self, "batch", &take.product, &take.batch, at)).flatten();
        let still =
            |stopped: &StoppedBy| breach.as_ref().is_some_and(|it| (it.rule, &it.key) == (stopped.rule, &stopped.key));
        let void: Vec<&StoppedBy> = take.stopped_by.iter().filter(|stopped| !still(stopped)).collect();
        if let Some(breach) = breach {
            let what = format!("{}{}", breach.why, recorded_anyway(take.anyway.as_ref()));
            self.open_defect(entry, Cause::Rule(breach.rule, breach.key), &take.subject, what);
        }
        for StoppedBy { rule, key, why } in void {
            let what = format!("{why}{}", recorded_anyway(take.anyway.as_ref()));
            let how = "cleared by what was recorded later".to_owned();
            let cause = Cause::Rule(*rule, key.clone());
            self.list_void(entry, Void { cause, subject: &take.subject, what, how, ended: None });
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

    fn start_stoppage(&mut self, entry: &Entry, start: &StartStoppage) -> Option<()> {
        let on = self.subjects.index(&start.subject)?;
        let stoppage = Stoppage {
            entry: entry.id(),
            subject: start.subject.clone(),
            cause: start.cause.clone(),
            rain: start.rain,
            notified: start.notified.clone(),
            people: start.people,
            by: entry.by.clone(),
            started_at: entry.happened_at,
            ended_at: None,
            ended_by: None,
            note: None,
            started: self.folded,
            ended: None,
        };
        self.effects.push(Effect::Opened(Thing::Stoppage(entry.id())));
        self.weather(on, start.rain, false, entry.happened_at, |state, _| state.stoppages.push(stoppage));
        Some(())
    }

    fn end_stoppage(&mut self, entry: &Entry, end: &EndStoppage) -> Option<()> {
        let id = end.stoppage.as_ref()?;
        match self.stoppages.iter_mut().find(|one| one.entry == *id && one.ended_at.is_none()) {
            Some(found) => {
                found.ended_at = Some(entry.happened_at);
                found.ended_by = Some(entry.id());
                found.ended = Some(self.folded);
                found.note.clone_from(&end.note);
                self.effects.push(Effect::Closed(Thing::Stoppage(id.clone())));
            }
            None => {
                let cause = Cause::Rule(Rule::R12, "stoppage".to_owned());
                let what = format!("end stoppage {id}: it was not open then");
                self.open_defect(entry, cause, "job", what);
            }
        }
        Some(())
    }
}
