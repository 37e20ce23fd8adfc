//! Folding one record into the state, and what that opens and closes.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::defects::{Void, recorded_anyway};
use super::fold::{ReplayError, check_building, read_sequence};
use crate::building::{Job, Person, SubjectIx};
use crate::conditions::forecast::Forecast;
use crate::day::facts::{
    Adoption, Day, DefectState, Effect, Fact, ForecastInForce, SealPlan, Stay, Stoppage, Taken, Thing,
};
use crate::day::rules::{expired, has_role};
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{
    AcknowledgeCaution, AddForecast, AddPerson, AdoptSequence, Body, Cause, CloseDay, EndStoppage, Entry, KeepPlan,
    OpenDay, ReviseJob, StartStoppage, StoppedBy, TakeReading, TakeStock, crew,
};
use crate::refusal::Rule;
use crate::sequence::{HoldIx, WindowIx, changes};

/// Why an entry changes nothing.
pub(super) enum Unapplied {
    /// It names what is not on the job, or is of a kind that is not known: it is listed as not understood.
    NotUnderstood,
    /// What it puts in force can't be read, so that there is no state to go on from.
    Unreadable(ReplayError),
}

impl From<ReplayError> for Unapplied {
    fn from(error: ReplayError) -> Self {
        Self::Unreadable(error)
    }
}

/// What of the weather may end a window.
#[derive(Clone, Copy)]
struct Weather {
    /// Rain, or frost on the wall: ends windows that lapse by it.
    wet_or_freezing: bool,
    /// The surface was measured: changes windows whose bounds depend on it.
    surface_read: bool,
}

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
        let together: Vec<SubjectIx> =
            of_record.filter_map(|entry| self.subjects.index(entry.body.subject())).collect();
        for entry in record {
            match self.apply_entry(entry, &together) {
                Ok(()) => {}
                Err(Unapplied::NotUnderstood) => self.not_understood.push(entry.id()),
                Err(Unapplied::Unreadable(error)) => return Err(error),
            }
        }
        Ok(std::mem::take(&mut self.effects))
    }

    fn apply_entry(&mut self, entry: &Entry, together: &[SubjectIx]) -> Result<(), Unapplied> {
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
            Body::PersonAdded(it) => self.add_person(it),
            Body::DayOpened(it) => self.begin_day(entry, it),
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
            Body::ForecastAdded(it) => self.take_forecast(entry, it),
            Body::CautionAcknowledged(it) => self.acknowledge(entry, it),
            Body::ReadingTaken(it) => return self.take_reading(entry, it),
            Body::StepDone(it) => return self.do_step(entry, it, together),
            Body::HoldAsked(it) => return self.ask_release(entry, it),
            Body::HoldReleased(it) => return self.release_hold(entry, it),
            Body::HoldRefused(it) => return self.refuse_hold(entry, it),
            Body::PlanKept(it) => return self.keep_plan(entry, it),
            Body::DefectOpened(it) => self.open_defect(entry, Cause::Reported, &it.subject, it.what.clone()),
            Body::DefectClosed(it) => {
                self.end_defect(&it.defect, DefectState::Closed, entry, Some(&it.person), &it.how);
            }
            Body::DefectConceded(it) => {
                self.end_defect(&it.defect, DefectState::Conceded, entry, Some(&it.person), &it.why);
                self.concede_answer(&it.defect, entry);
            }
            Body::BatchDelivered(it) => self.stock.deliveries.push(Fact::of(entry, self.folded, it)),
            Body::StockTaken(it) => return self.take_stock(entry, it),
            Body::StoppageStarted(it) => return self.start_stoppage(entry, it),
            Body::StoppageEnded(it) => return self.end_stoppage(entry, it),
            Body::ExtraAdded(it) => {
                self.named(&it.subject)?;
                self.extras.push(Fact::of(entry, self.folded, it));
            }
            Body::Unknown { .. } => return Err(Unapplied::NotUnderstood),
        }
        Ok(())
    }

    /// The subject that an entry names.
    pub(super) fn named(&self, subject: &str) -> Result<SubjectIx, Unapplied> {
        self.subjects.index(subject).ok_or(Unapplied::NotUnderstood)
    }

    /// The hold point that an entry names.
    pub(super) fn hold_named(&self, key: &str) -> Result<HoldIx, Unapplied> {
        self.sequence().hold(key).ok_or(Unapplied::NotUnderstood)
    }

    fn add_person(&mut self, add: &AddPerson) {
        if self.job.person(&add.name).is_none() {
            self.job.people.push(Person { name: add.name.clone(), roles: add.roles.clone() });
        }
    }

    fn begin_day(&mut self, entry: &Entry, open: &OpenDay) {
        let (device, at, date) = (Arc::clone(&entry.device), entry.happened_at, entry.happened_at.date());
        self.effects.push(Effect::Opened(Thing::Day { device: Arc::clone(&device), date }));
        self.days.push(Day {
            device,
            date,
            opened_at: at,
            closed_at: None,
            crew: open.crew.iter().map(|name| Stay { name: name.clone(), from: at, until: None }).collect(),
            talk: open.talk.clone(),
            hazards: open.hazards.clone(),
            acknowledged: BTreeMap::new(),
            hours: BTreeMap::new(),
            note: None,
        });
    }

    fn acknowledge(&mut self, entry: &Entry, it: &AcknowledgeCaution) {
        if let Some(day) = self.day_at(Some(&entry.device), entry.happened_at) {
            let of_caution = self.days[day].acknowledged.entry(it.caution.clone()).or_default();
            for person in &it.people {
                of_caution.entry(person.clone()).or_insert(entry.happened_at);
            }
        }
    }

    /// Takes a forecast into force. Hours that no forecast can have were never taken by this program: nothing is expected by
    /// them.
    fn take_forecast(&mut self, entry: &Entry, add: &AddForecast) {
        if let Ok(forecast) = Forecast::new(add.hours.clone()) {
            let (entry, at) = (entry.id(), entry.happened_at);
            self.forecast = Some(ForecastInForce { entry, at, source: add.source.clone(), forecast });
        }
    }

    /// Takes an edition into force, also one that whoever adopted it had no say over: work went by it.
    fn adopt(&mut self, entry: &Entry, adopt: &AdoptSequence) -> Result<(), ReplayError> {
        let id = entry.id();
        let sequence = read_sequence(&id.to_string(), &adopt.sequence)?;
        let may = has_role(self, &entry.by, &self.sequence().authority.adopt, "adopt a sequence");
        if let Err(refusal) = may {
            self.open_refused(entry, Cause::Rule(Rule::Authority, "adopt".to_owned()), "job", &refusal);
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
            self.open_defect(entry, Cause::Rule(Rule::Strike, "revised".to_owned()), "job", what);
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
                self.open_defect(entry, Cause::Rule(Rule::OpenDay, "day".to_owned()), "job", what);
            }
        }
    }

    fn take_reading(&mut self, entry: &Entry, reading: &TakeReading) -> Result<(), Unapplied> {
        let on = self.named(&reading.subject)?;
        let weather =
            Weather { wet_or_freezing: reading.rain || reading.is_frost(), surface_read: reading.surface_c.is_some() };
        let running = self.running_in(on, weather, entry.happened_at);
        let fact = Fact::of(entry, self.folded, reading);
        for wall in self.subjects.exposed_walls(on) {
            let readings = self.readings.entry(*wall).or_default();
            if weather.wet_or_freezing {
                self.wet_or_freezing.entry(*wall).or_default().push(readings.len());
            }
            readings.push(fact.clone());
        }
        self.close_ended(running, entry.happened_at);
        Ok(())
    }

    /// The windows that run on the walls of a subject and that weather there may end, each with its subject.
    fn running_in(&self, on: SubjectIx, weather: Weather, at: Moment) -> Vec<(WindowIx, SubjectIx)> {
        let walls = self.subjects.exposed_walls(on);
        let mut running = Vec::new();
        for (index, window) in self.sequence().windows.indexed() {
            let by_surface = weather.surface_read && !window.by_surface.is_empty();
            let lapses = weather.wet_or_freezing && !window.lapses_on.is_empty();
            if by_surface || lapses {
                for kind in &self.sequence().steps[window.from].on {
                    let related = walls.iter().flat_map(|wall| self.subjects.related(*wall, *kind));
                    running.extend(related.map(|subject| (index, *subject)));
                }
            }
        }
        running.sort_unstable();
        running.dedup();
        running.retain(|(window, subject)| self.runs_at(*window, *subject, at));
        running
    }

    /// Notes which of these windows run no longer.
    fn close_ended(&mut self, were_running: Vec<(WindowIx, SubjectIx)>, at: Moment) {
        for (window, subject) in were_running {
            if !self.runs_at(window, subject, at) {
                self.effects.push(Effect::Closed(self.window(window, subject)));
            }
        }
    }

    fn keep_plan(&mut self, entry: &Entry, keep: &KeepPlan) -> Result<(), Unapplied> {
        let subject = self.named(&keep.subject)?;
        let plan = Fact::of(entry, self.folded, keep);
        self.seal_plans.extend(SealPlan::read(&plan));
        self.plans.insert((keep.sum.clone(), subject), plan);
        Ok(())
    }

    fn take_stock(&mut self, entry: &Entry, take: &TakeStock) -> Result<(), Unapplied> {
        let subject = self.named(&take.subject)?;
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
        Ok(())
    }

    fn start_stoppage(&mut self, entry: &Entry, start: &StartStoppage) -> Result<(), Unapplied> {
        let on = self.named(&start.subject)?;
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
        let weather = Weather { wet_or_freezing: start.rain, surface_read: false };
        let running = self.running_in(on, weather, entry.happened_at);
        self.stoppages.push(stoppage);
        self.close_ended(running, entry.happened_at);
        Ok(())
    }

    fn end_stoppage(&mut self, entry: &Entry, end: &EndStoppage) -> Result<(), Unapplied> {
        let id = end.stoppage.as_ref().ok_or(Unapplied::NotUnderstood)?;
        match self.stoppages.iter_mut().find(|one| one.entry == *id && one.ended_at.is_none()) {
            Some(found) => {
                found.ended_at = Some(entry.happened_at);
                found.ended_by = Some(entry.id());
                found.ended = Some(self.folded);
                found.note.clone_from(&end.note);
                self.effects.push(Effect::Closed(Thing::Stoppage(id.clone())));
            }
            None => {
                let cause = Cause::Rule(Rule::OpenDay, "stoppage".to_owned());
                let what = format!("end stoppage {id}: it was not open then");
                self.open_defect(entry, cause, "job", what);
            }
        }
        Ok(())
    }
}
