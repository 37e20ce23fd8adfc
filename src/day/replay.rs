//! From entries to a [`State`].

use std::collections::BTreeMap;
use std::sync::Arc;

use super::asks::judge_answers;
use super::holds::{has_role, may_release};
use super::judge::judge;
use super::plans::Plan;
use super::state::{Day, Defect, DefectState, Done, HoldLife, HoldState, Reading, State};
use super::stock;
use crate::moment::Moment;
use crate::record::{Body, Entry};
use crate::refusal::{Refusal, Rule};
use crate::sequence::{self, Sequence};

/// Most walls, corners, courses, joints and openings that a building has in all.
const MOST_SUBJECTS: usize = 100_000;

/// Why entries are no job.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReplayError {
    /// No entry sets the job up.
    #[error("no entry sets the job up: the record is not whole")]
    NoJob,
    /// The building is larger than this program takes.
    #[error("the building that entry {0} sets up has more than {MOST_SUBJECTS} walls, courses, joints and openings")]
    Size(String),
    /// The pinned sequence can't be read by this program.
    #[error("the sequence that entry {entry} pins can't be read: {mistake}")]
    Sequence {
        /// Id of the entry.
        entry: String,
        /// The first mistake.
        mistake: String,
    },
}

/// Folds the entries of a job, in the order in which things happened, into its state.
///
/// With `until`, only what had happened by then counts; strikes count whenever they were made.
///
/// # Errors
/// [`ReplayError`].
pub fn replay(entries: &[Entry], until: Option<Moment>) -> Result<State, ReplayError> {
    let (first, job, text) = entries
        .iter()
        .find_map(|entry| match &entry.body {
            Body::JobAdded { building, sequence } => Some((entry, building, sequence)),
            _ => None,
        })
        .ok_or(ReplayError::NoJob)?;
    // Counted before anything is made for each: a record that comes from elsewhere may say anything.
    let parts = job.walls.iter().map(|w| (w.courses as usize).saturating_add(w.joints.len() + w.openings.len()));
    let parts = parts.fold(job.walls.len() + job.corners.len(), usize::saturating_add);
    if parts > MOST_SUBJECTS {
        return Err(ReplayError::Size(first.id()));
    }
    let sequence = Arc::new(read_sequence(&first.id(), text)?);
    let subjects = job.subjects();
    let mut state = State {
        job: (**job).clone(),
        progress: vec![Vec::new(); sequence.steps.len() * subjects.len()],
        subjects,
        editions: vec![sequence],
        asked: Vec::new(),
        readings: BTreeMap::new(),
        foul: BTreeMap::new(),
        forecast: None,
        seal_plans: Vec::new(),
        holds: BTreeMap::new(),
        plans: BTreeMap::new(),
        stock: stock::Stock::default(),
        defects: Vec::new(),
        defect_places: BTreeMap::new(),
        days: Vec::new(),
        stoppages: Vec::new(),
        extras: Vec::new(),
        struck: struck(entries),
        here: None,
        last_recorded: entries.iter().map(|entry| entry.recorded_at).max(),
        rehearsal: entries.iter().any(|entry| entry.rehearsal),
        not_understood: Vec::new(),
    };
    state.ask_anew();
    let mut order: Vec<&Entry> = entries
        .iter()
        .filter(|entry| until.is_none_or(|until| entry.happened_at <= until))
        .filter(|entry| !matches!(entry.body, Body::JobAdded { .. }) && !state.is_struck(entry))
        .collect();
    order.sort_by(|a, b| place_in_time(a).cmp(&place_in_time(b)));
    for entry in order {
        state.apply(entry)?;
    }
    state.here = None;
    Ok(state)
}

/// The state of a book as it was at a moment, from the same side.
pub(super) fn replay_at(book: &super::Book, at: Moment) -> Result<State, ReplayError> {
    let mut state = replay(&book.entries, Some(at))?;
    state.here.clone_from(&book.state.here);
    Ok(state)
}

/// Where an entry stands among what happened; the same in whatever order entries came in.
pub(super) fn place_in_time(entry: &Entry) -> (Moment, Moment, u64, &str, u64) {
    (entry.happened_at, entry.recorded_at, entry.weight(), &entry.device, entry.seq)
}

/// The struck entries and what strikes each. A strike that is struck itself does not count.
fn struck(entries: &[Entry]) -> BTreeMap<String, String> {
    let mut strikes: Vec<(&Entry, &String)> = entries
        .iter()
        .filter_map(|entry| match &entry.body {
            Body::Struck { entry: target, .. } => Some((entry, target)),
            _ => None,
        })
        .collect();
    // A strike names an entry that was there before it: from the newest on, each is decided by those after it. Its weight
    // says which knew which; its time does not, where a clock was set back.
    strikes.sort_by(|(a, _), (b, _)| {
        (b.weight(), b.recorded_at, &b.device, b.seq).cmp(&(a.weight(), a.recorded_at, &a.device, a.seq))
    });
    let mut struck: BTreeMap<String, String> = BTreeMap::new();
    for (entry, target) in strikes {
        if !struck.contains_key(&entry.id()) {
            struck.insert(target.clone(), entry.id());
        }
    }
    struck
}

fn read_sequence(entry: &str, text: &str) -> Result<Sequence, ReplayError> {
    sequence::read(text).map_err(|mistakes| ReplayError::Sequence {
        entry: entry.to_owned(),
        mistake: mistakes.first().map_or_else(String::new, |mistake| mistake.in_file("sequence")),
    })
}

impl State {
    fn is_struck(&self, entry: &Entry) -> bool {
        !self.struck.is_empty() && self.struck.contains_key(&entry.id())
    }

    /// Folds one more entry in. Entries come in the order in which things happened.
    ///
    /// # Errors
    /// [`ReplayError::Sequence`] when it adopts a sequence that can't be read.
    pub(super) fn apply(&mut self, entry: &Entry) -> Result<(), ReplayError> {
        let at = entry.happened_at;
        if self.here.as_ref() != Some(&entry.device) {
            self.look_from(&entry.device);
        }
        self.last_recorded = self.last_recorded.max(Some(entry.recorded_at));
        self.rehearsal |= entry.rehearsal;
        match &entry.body {
            Body::JobAdded { .. } | Body::Struck { .. } | Body::PhotoAdded { .. } | Body::Noted { .. } => {}
            Body::SequenceAdopted { sequence, .. } => {
                let adopted = read_sequence(&entry.id(), sequence)?;
                self.adopt(adopted);
            }
            Body::PersonAdded { name, roles } => {
                if self.job.person(name).is_none() {
                    self.job.people.push(crate::building::Person { name: name.clone(), roles: roles.clone() });
                }
            }
            Body::DayOpened { crew, talk, hazards } => self.days.push(Day {
                device: entry.device.clone(),
                date: at.date(),
                opened_at: at,
                closed_at: None,
                crew: crew.iter().map(|name| (name.clone(), at)).collect(),
                talk: talk.clone(),
                hazards: hazards.clone(),
                acknowledged: BTreeMap::new(),
                hours: BTreeMap::new(),
                note: None,
            }),
            Body::DayJoined { crew } => {
                if let Some(day) = self.day_at(at) {
                    let day = &mut self.days[day];
                    let new: Vec<_> = crew.iter().filter(|name| day.crew.iter().all(|(has, _)| has != *name)).collect();
                    day.crew.extend(new.into_iter().map(|name| (name.clone(), at)));
                }
            }
            Body::DayClosed { hours, note } => {
                let open = |day: &Day| day.opened_at <= at && day.closed_at.is_none_or(|closed| at < closed);
                let own = self.days.iter().rposition(|day| self.is_own(day) && open(day));
                let found = own.or_else(|| self.days.iter().rposition(open));
                if let Some(day) = found.and_then(|day| self.days.get_mut(day)) {
                    day.closed_at = Some(at);
                    day.hours = hours.clone();
                    day.note = note.clone();
                }
            }
            Body::ForecastAdded { source, hours } => self.take_forecast(entry, source, hours),
            Body::CautionAcknowledged { caution, people } => {
                if let Some(day) = self.day_at(at) {
                    let of_caution = self.days[day].acknowledged.entry(caution.clone()).or_default();
                    for person in people {
                        of_caution.entry(person.clone()).or_insert(at);
                    }
                }
            }
            Body::ReadingTaken { subject, air_c, humidity_pct, surface_c, wind_kmh, rain } => {
                match self.subjects.index(subject) {
                    Some(wall) => self.read(
                        wall,
                        Reading {
                            entry: entry.id(),
                            at,
                            air_c: *air_c,
                            humidity_pct: *humidity_pct,
                            surface_c: *surface_c,
                            wind_kmh: *wind_kmh,
                            rain: *rain,
                        },
                    ),
                    None => self.not_understood.push(entry.id()),
                }
            }
            Body::StepDone { step, subject, .. } => match (self.sequence().step(step), self.subjects.index(subject)) {
                (Some(step), Some(subject)) => self.apply_step(entry, step, subject),
                _ => self.not_understood.push(entry.id()),
            },
            Body::HoldAsked { hold, subject }
            | Body::HoldReleased { hold, subject, .. }
            | Body::HoldRefused { hold, subject, .. } => {
                match (self.sequence().hold(hold), self.subjects.index(subject)) {
                    (Some(hold), Some(subject)) => self.apply_hold(entry, hold, subject),
                    _ => self.not_understood.push(entry.id()),
                }
            }
            Body::PlanKept { sum, subject, inputs, result } => match self.subjects.index(subject) {
                Some(subject) => {
                    self.take_seal_plan(entry, sum, inputs, result);
                    let (inputs, result) = (inputs.clone(), result.clone());
                    self.plans.insert((sum.clone(), subject), Plan { entry: entry.id(), at, inputs, result });
                }
                None => self.not_understood.push(entry.id()),
            },
            Body::DefectOpened { subject, what } => {
                self.open_defect(entry, format!("{}.defect", entry.id()), subject, None, what.clone());
            }
            Body::DefectClosed { defect, person, how } => {
                self.end_defect(defect, DefectState::Closed, entry, Some(person), how);
            }
            Body::DefectConceded { defect, person, why } => {
                self.end_defect(defect, DefectState::Conceded, entry, Some(person), why);
                self.concede_ask(defect);
            }
            Body::BatchDelivered { .. } => self.apply_delivery(entry),
            Body::StockTaken { .. } => self.apply_taken(entry),
            Body::StoppageStarted { .. } | Body::StoppageEnded { .. } => self.apply_stoppage(entry),
            Body::ExtraAdded { .. } => self.apply_extra(entry),
            Body::Unknown { .. } => self.not_understood.push(entry.id()),
        }
        Ok(())
    }

    fn apply_step(&mut self, entry: &Entry, step: usize, subject: usize) {
        let Body::StepDone { answers, anyway, subject: on, .. } = &entry.body else { return };
        let at = entry.happened_at;
        let mut breaches = judge(self, step, subject, at, &[]);
        let edition = self.editions.last().cloned();
        let Some(edition) = edition else { return };
        let wanted = &edition.steps[step];
        breaches.extend(stock::judge(self, wanted, answers, at));
        self.take_for_step(entry, wanted, subject);
        let planned = self.planned(step, subject);
        let failing = if wanted.asks.iter().any(|ask| ask.planned.is_some()) {
            judge_answers(&wanted.asks_with(&planned), answers)
        } else {
            judge_answers(&wanted.asks, answers)
        };
        for breach in &breaches {
            let rule = breach.rule.to_string().to_lowercase();
            let id = format!("{}.{rule}-{}", entry.id(), breach.key);
            let said = anyway.as_ref().map(|why| format!(" (recorded anyway: {why})")).unwrap_or_default();
            self.open_defect(entry, id, on, Some(breach.rule), format!("{}: {}{said}", wanted.title, breach.why));
        }
        if let Some(what) = self.done_unaware(entry, step, subject) {
            let id = format!("{}.r2-twice", entry.id());
            self.open_defect(entry, id, on, Some(Rule::R2), format!("{}: {what}", wanted.title));
        }
        for ask in &wanted.asks {
            let again = failing.iter().find(|(key, _)| *key == ask.key);
            if answers.contains_key(&ask.key) {
                let how = match again {
                    None => "measured again, in tolerance".to_owned(),
                    Some(_) => format!("measured again, still out: {}", ask_defect(entry, &ask.key)),
                };
                self.end_measured(step, subject, &ask.key, entry, &how);
            }
            if let Some((key, what)) = again {
                self.open_defect(
                    entry,
                    ask_defect(entry, key),
                    on,
                    Some(Rule::R8),
                    format!("{}: {what}", wanted.title),
                );
            }
        }
        let done = Done {
            entry: entry.id(),
            at,
            by: entry.by.clone(),
            day: self.day_at(at),
            edition: self.editions.len() - 1,
            answers: answers.clone(),
            planned,
            failing: failing.into_iter().map(|(key, _)| key).collect(),
            anyway: anyway.clone(),
            seen: entry.seen.clone(),
        };
        let slot = self.slot(step, subject);
        // Most steps are done once: room for more than that would be most of the memory.
        self.progress[slot].reserve_exact(1);
        self.progress[slot].push(done);
    }

    /// What somebody else recorded of a step that stands, when neither knew of the other: one of the two is not so.
    fn done_unaware(&self, entry: &Entry, step: usize, subject: usize) -> Option<String> {
        let unaware = |done: &&Done| {
            let Some((device, seq)) = done.entry.rsplit_once('-') else { return false };
            let knows = |seq: u64| entry.knew(device, seq);
            let known = done.seen.get(&entry.device).is_some_and(|last| entry.seq <= *last);
            device != entry.device && !known && seq.parse().is_ok_and(|seq| !knows(seq))
        };
        let other = self.done(step, subject).iter().rev().find(unaware)?;
        self.complete(step, subject, entry.happened_at).then(|| {
            let when = other.at.clock(entry.happened_at.date());
            format!(
                "recorded as well by {} at {when} ({}), neither knowing of the other: strike the one that is not so",
                other.by, other.entry
            )
        })
    }

    /// Ends the open defects of earlier measurements of one ask.
    fn end_measured(&mut self, step: usize, subject: usize, ask: &str, entry: &Entry, how: &str) {
        let edition = self.editions.len() - 1;
        let mut ids = Vec::new();
        for done in self.done(step, subject).iter().rev() {
            ids.push(format!("{}.r8-{ask}", done.entry));
            // What was measured before this one was ended by it.
            if done.edition == edition && done.answers.contains_key(ask) {
                break;
            }
        }
        for id in ids {
            self.end_defect(&id, DefectState::Closed, entry, None, how);
        }
    }

    fn apply_hold(&mut self, entry: &Entry, hold: usize, subject: usize) {
        let at = entry.happened_at;
        let key = self.sequence().holds[hold].key.clone();
        let roles = self.sequence().holds[hold].roles.clone();
        let id = format!("{}.r5-{key}", entry.id());
        let on = self.subjects.get(subject).to_string();
        let role_of = |state: &Self, person: &str| {
            state.person(person).and_then(|found| found.roles.iter().find(|role| roles.contains(role)).cloned())
        };
        match &entry.body {
            Body::HoldAsked { .. } => {
                self.holds.entry((hold, subject)).or_default().asked_at = Some(at);
            }
            Body::HoldReleased { person, how, evidence, .. } => {
                if let Err(refusal) = may_release(self, hold, subject, person, at) {
                    return self.open_refused(entry, id, &on, &refusal);
                }
                let role = role_of(self, person);
                let life = self.holds.entry((hold, subject)).or_default();
                let refused_by = (life.state == HoldState::Refused).then(|| life.entry.clone()).flatten();
                *life = HoldLife {
                    state: HoldState::Released,
                    asked_at: life.asked_at,
                    person: Some(person.clone()),
                    role,
                    at: Some(at),
                    how: Some(how.clone()),
                    evidence: evidence.clone(),
                    entry: Some(entry.id()),
                };
                if let Some(refused_by) = refused_by {
                    let defect = format!("{refused_by}.r5-{key}");
                    self.end_defect(&defect, DefectState::Closed, entry, Some(person), "looked at again and released");
                }
            }
            Body::HoldRefused { person, why, .. } => {
                let what = format!("refuse hold point {key} on {on}");
                if let Err(refusal) = has_role(self, person, &roles, &what) {
                    return self.open_refused(entry, id, &on, &refusal);
                }
                let role = role_of(self, person);
                let life = self.holds.entry((hold, subject)).or_default();
                life.state = HoldState::Refused;
                life.person = Some(person.clone());
                life.role = role;
                life.at = Some(at);
                life.how = Some(why.clone());
                life.entry = Some(entry.id());
                self.open_defect(entry, id, &on, Some(Rule::R5), format!("{key} refused by {person}: {why}"));
            }
            _ => {}
        }
    }

    /// A rule finds an entry out of order that nobody can refuse any more: it becomes a defect.
    pub(super) fn open_refused(&mut self, entry: &Entry, id: String, on: &str, refusal: &Refusal) {
        self.open_defect(entry, id, on, Some(refusal.rule), format!("{}: {}", refusal.what, refusal.why));
    }

    pub(super) fn open_defect(&mut self, entry: &Entry, id: String, subject: &str, rule: Option<Rule>, what: String) {
        // An entry's defects are opened one after the other, so that the same one is among the last.
        let known = self.defects.iter().rev().take_while(|defect| defect.opened_by == entry.id());
        if known.into_iter().any(|defect| defect.id == id) {
            return;
        }
        self.defect_places.insert(id.clone(), self.defects.len());
        self.defects.push(Defect {
            id,
            subject: subject.to_owned(),
            rule,
            what,
            opened_by: entry.id(),
            opened_at: entry.happened_at,
            state: DefectState::Open,
            how: None,
            person: None,
            ended_at: None,
            ended_by: None,
        });
    }

    fn end_defect(&mut self, id: &str, state: DefectState, entry: &Entry, person: Option<&String>, how: &str) {
        let place = self.defect_places.get(id).copied();
        let found = place.and_then(|place| self.defects.get_mut(place));
        if let Some(defect) = found.filter(|defect| defect.state == DefectState::Open) {
            defect.state = state;
            defect.how = Some(how.to_owned());
            defect.person = person.cloned();
            defect.ended_at = Some(entry.happened_at);
            defect.ended_by = Some(entry.id());
        }
    }

    /// A conceded measurement no longer keeps its step open.
    fn concede_ask(&mut self, defect: &str) {
        let Some((entry, detail)) = defect.split_once('.') else { return };
        let Some(ask) = detail.strip_prefix("r8-") else { return };
        let place = self.defect_places.get(defect).and_then(|place| self.defects.get(*place));
        let Some(subject) = place.and_then(|defect| self.subjects.index(&defect.subject)) else { return };
        // Every step of that subject: one slot in each row.
        for slot in self.progress.iter_mut().skip(subject).step_by(self.subjects.len()) {
            for done in slot.iter_mut().filter(|done| done.entry == entry) {
                done.failing.retain(|key| key != ask);
            }
        }
    }

    /// Takes a newer sequence into force: what was done keeps its step by the step's key.
    fn adopt(&mut self, adopted: Sequence) {
        let old = self.editions[self.editions.len() - 1].clone();
        let subjects = self.subjects.len();
        let mut progress = vec![Vec::new(); adopted.steps.len() * subjects];
        for (index, step) in old.steps.iter().enumerate() {
            let Some(new) = adopted.step(&step.key) else { continue };
            for subject in 0..subjects {
                progress[new * subjects + subject] = std::mem::take(&mut self.progress[index * subjects + subject]);
            }
        }
        self.progress = progress;
        self.holds = std::mem::take(&mut self.holds)
            .into_iter()
            .filter_map(|((hold, subject), life)| Some(((adopted.hold(&old.holds[hold].key)?, subject), life)))
            .collect();
        self.editions.push(Arc::new(adopted));
        self.ask_anew();
    }
}

fn ask_defect(entry: &Entry, ask: &str) -> String {
    format!("{}.r8-{ask}", entry.id())
}
