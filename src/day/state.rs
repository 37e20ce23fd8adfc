//! The state of a job: what its entries come to.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{NaiveDate, TimeDelta};

use super::extras::ExtraWork;
use super::forecast::Foreseen;
use super::plans::Plan;
use super::sealing_day::SealPlan;
use super::stock::Stock;
use super::stoppages::Stoppage;
use crate::building::{Job, Person, Subject, SubjectKind, Subjects};
use crate::moment::Moment;
use crate::record::{Answer, DefectRow, HoldRow, ReadSide};
use crate::refusal::Rule;
use crate::sequence::Sequence;

/// A site day that nobody closed is over after this long: its crew and its cautions do not carry on.
pub(super) const LONGEST_DAY: TimeDelta = TimeDelta::hours(18);

/// A step done on a subject.
#[derive(Debug, Clone)]
pub struct Done {
    /// Id of the entry.
    pub entry: String,
    /// When it happened.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// Index of the site day that it fell into.
    pub day: Option<usize>,
    /// Index of the edition of the sequence that it was recorded under.
    pub edition: usize,
    /// Answers by key.
    pub answers: BTreeMap<String, Answer>,
    /// Planned values that its answers were held against, by key of the ask.
    pub planned: BTreeMap<String, f64>,
    /// Keys of the asks out of tolerance and not conceded: while there is one, the step stays open.
    pub failing: Vec<String>,
    /// Why it was recorded although a rule stopped it.
    pub anyway: Option<String>,
    /// How far the file held every other device's book when it was recorded.
    pub(super) seen: BTreeMap<String, u64>,
}

/// Site conditions read on a wall.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Id of the entry.
    pub entry: String,
    /// When.
    pub at: Moment,
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Wind, km/h.
    pub wind_kmh: Option<f64>,
    /// Rain on the wall.
    pub rain: bool,
}

/// Where a hold point stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoldState {
    /// Not released yet.
    Held,
    /// Released.
    Released,
    /// A release was refused.
    Refused,
}

impl HoldState {
    /// The word, as the contract writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Released => "released",
            Self::Refused => "refused",
        }
    }
}

/// A hold point on one subject.
#[derive(Debug, Clone)]
pub struct HoldLife {
    /// Where it stands.
    pub state: HoldState,
    /// When a release was last asked for.
    pub asked_at: Option<Moment>,
    /// Who spoke last: released or refused it.
    pub person: Option<String>,
    /// The role that gave the say.
    pub role: Option<String>,
    /// When.
    pub at: Option<Moment>,
    /// How, or why not.
    pub how: Option<String>,
    /// What shows it.
    pub evidence: Option<String>,
    /// Id of the entry.
    pub entry: Option<String>,
}

impl Default for HoldLife {
    fn default() -> Self {
        Self {
            state: HoldState::Held,
            asked_at: None,
            person: None,
            role: None,
            at: None,
            how: None,
            evidence: None,
            entry: None,
        }
    }
}

/// Where a defect stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DefectState {
    /// To be put right.
    Open,
    /// Put right.
    Closed,
    /// May stand.
    Conceded,
}

impl DefectState {
    /// The word, as the contract writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Closed => "closed",
            Self::Conceded => "conceded",
        }
    }
}

/// Something out of tolerance or out of order.
#[derive(Debug, Clone)]
pub struct Defect {
    /// Id: that of the entry, with the rule and its detail behind a dot where a rule found it.
    pub id: String,
    /// Id of the subject.
    pub subject: String,
    /// The rule that found it; `None` when a person did.
    pub rule: Option<Rule>,
    /// What is wrong.
    pub what: String,
    /// Id of the entry that opened it.
    pub opened_by: String,
    /// When.
    pub opened_at: Moment,
    /// Where it stands.
    pub state: DefectState,
    /// How it was put right, or why it may stand.
    pub how: Option<String>,
    /// Who says so.
    pub person: Option<String>,
    /// When.
    pub ended_at: Option<Moment>,
    /// Id of the entry that ended it.
    pub ended_by: Option<String>,
}

/// A site day.
#[derive(Debug, Clone)]
pub struct Day {
    /// The device that opened it: of two crews each has its own.
    pub(super) device: String,
    /// Its date, by the site's clocks.
    pub date: NaiveDate,
    /// When it was opened.
    pub opened_at: Moment,
    /// When it was closed.
    pub closed_at: Option<Moment>,
    /// Who is on site, and since when.
    pub crew: Vec<(String, Moment)>,
    /// What the pre-start talk was about.
    pub talk: Option<String>,
    /// Hazards of the day.
    pub hazards: Vec<String>,
    /// When each caution was acknowledged, by its key and the person.
    pub acknowledged: BTreeMap<String, BTreeMap<String, Moment>>,
    /// Hours worked, by person, when it was closed.
    pub hours: BTreeMap<String, f64>,
    /// Remark at closing.
    pub note: Option<String>,
}

/// What the entries of a job come to.
#[derive(Debug, Clone)]
pub struct State {
    /// The job.
    pub job: Job,
    /// Its subjects.
    pub subjects: Subjects,
    /// Every edition of the sequence, the one in force last.
    pub editions: Vec<Arc<Sequence>>,
    /// Everything done, by step and subject of the edition in force; see [`State::done`].
    pub(super) progress: Vec<Vec<Done>>,
    /// Readings by the index of the wall.
    pub(super) readings: BTreeMap<usize, Vec<Reading>>,
    /// Those among them with rain or frost: what may make a window lapse.
    pub(super) foul: BTreeMap<usize, Vec<Reading>>,
    /// The last forecast.
    pub forecast: Option<Foreseen>,
    /// The seal plans that were kept, the one in force last.
    pub seal_plans: Vec<SealPlan>,
    /// Hold points that something happened to, by hold and subject.
    pub(super) holds: BTreeMap<(usize, usize), HoldLife>,
    /// Whether a step is asked of a subject, step by step as in `progress`.
    pub(super) asked: Vec<bool>,
    /// Sums kept, by name and subject, the last of each.
    pub(super) plans: BTreeMap<(String, usize), Plan>,
    /// Deliveries, and what was taken.
    pub stock: Stock,
    /// Defects in the order in which they were opened.
    pub defects: Vec<Defect>,
    /// Where each defect stands in that list, by its id.
    pub(super) defect_places: BTreeMap<String, usize>,
    /// Site days.
    pub days: Vec<Day>,
    /// Stoppages in the order in which they began.
    pub stoppages: Vec<Stoppage>,
    /// Extra work in the order in which it was asked for.
    pub extras: Vec<ExtraWork>,
    /// Struck entries and what strikes them.
    pub struck: BTreeMap<String, String>,
    /// The device from whose side the days are looked at.
    pub(super) here: Option<String>,
    /// The latest time of recording in the book.
    pub last_recorded: Option<Moment>,
    /// Whether anything was written under a rehearsal clock.
    pub rehearsal: bool,
    /// Entries of kinds that this program does not know.
    pub not_understood: Vec<String>,
}

impl State {
    /// The sequence in force.
    pub fn sequence(&self) -> &Sequence {
        // There is always one: a state begins with the job's own.
        &self.editions[self.editions.len() - 1]
    }

    /// Everything done of a step on a subject, oldest first.
    pub fn done(&self, step: usize, subject: usize) -> &[Done] {
        self.progress.get(self.slot(step, subject)).map_or(&[], Vec::as_slice)
    }

    pub(super) fn slot(&self, step: usize, subject: usize) -> usize {
        step * self.subjects.len() + subject
    }

    /// Whether a step is asked of a subject.
    pub fn asked_of(&self, step: usize, subject: usize) -> bool {
        self.asked.get(self.slot(step, subject)).copied().unwrap_or_default()
    }

    /// Works out which step of the sequence in force is asked of which subject; its rules are asked of it all day long.
    pub(super) fn ask_anew(&mut self) {
        let (sequence, job, subjects) = (self.sequence(), &self.job, self.subjects.all());
        let of_step = |step| subjects.iter().map(move |subject| sequence.asked_of(step, subject, job));
        self.asked = (0..sequence.steps.len()).flat_map(of_step).collect();
    }

    /// Whether a step stands complete on a subject at a moment: done, in tolerance, its window not lapsed,
    /// and the step that its window runs from not done again since.
    pub fn complete(&self, step: usize, subject: usize, now: Moment) -> bool {
        let Some(last) = self.done(step, subject).last() else { return false };
        if !last.failing.is_empty() {
            return false;
        }
        self.sequence().windows.iter().enumerate().all(|(window, found)| {
            if found.from == step {
                self.run(window, subject).is_none_or(|run| match run.answered {
                    Some(_) => self.spent(&run, now).is_none(),
                    None => run.lapsed(now).is_none(),
                })
            } else if found.to == step {
                self.done(found.from, subject).last().is_none_or(|from| from.at <= last.at)
            } else {
                true
            }
        })
    }

    /// The state of a hold point on a subject.
    pub fn hold(&self, hold: usize, subject: usize) -> HoldLife {
        self.holds.get(&(hold, subject)).cloned().unwrap_or_default()
    }

    /// Every hold point with every subject that it is released on.
    pub fn holds(&self) -> Vec<(usize, usize, HoldLife)> {
        let mut all = Vec::new();
        for (hold, found) in self.sequence().holds.iter().enumerate() {
            for (subject, is) in self.subjects.all().iter().enumerate() {
                if is.kind() == found.per {
                    all.push((hold, subject, self.hold(hold, subject)));
                }
            }
        }
        all
    }

    /// Readings on a wall, oldest first.
    pub fn readings(&self, wall: usize) -> &[Reading] {
        self.readings.get(&wall).map_or(&[], Vec::as_slice)
    }

    /// Files a reading on a wall; readings come in the order in which they were taken.
    pub(super) fn read(&mut self, wall: usize, reading: Reading) {
        if reading.rain || reading.air_c <= 0.0 || reading.surface_c <= 0.0 {
            self.foul.entry(wall).or_default().push(reading.clone());
        }
        self.readings.entry(wall).or_default().push(reading);
    }

    /// Looks at the days from the side of a device: where two crews have a day open each, its own counts.
    pub fn look_from(&mut self, device: &str) {
        self.here = Some(device.to_owned());
    }

    /// The site day that was open at a moment; the device's own first.
    pub fn day_at(&self, at: Moment) -> Option<usize> {
        let open = |day: &Day| {
            at - day.opened_at <= LONGEST_DAY && day.opened_at <= at && day.closed_at.is_none_or(|closed| at < closed)
        };
        let own = self.days.iter().rposition(|day| self.is_own(day) && open(day));
        own.or_else(|| self.days.iter().rposition(open))
    }

    /// The site day that is open; the device's own first.
    pub fn open_day(&self) -> Option<&Day> {
        let own = self.days.iter().rev().find(|day| self.is_own(day)).filter(|day| day.closed_at.is_none());
        own.or_else(|| self.days.last().filter(|day| day.closed_at.is_none()))
    }

    pub(super) fn is_own(&self, day: &Day) -> bool {
        self.here.as_ref() == Some(&day.device)
    }

    /// The person of this name.
    pub fn person(&self, name: &str) -> Option<&Person> {
        self.job.person(name)
    }

    /// The defect of this id.
    pub fn defect(&self, id: &str) -> Option<&Defect> {
        self.defects.get(*self.defect_places.get(id)?)
    }

    /// Defects still open.
    pub fn open_defects(&self) -> impl Iterator<Item = &Defect> {
        self.defects.iter().filter(|defect| defect.state == DefectState::Open)
    }

    /// Every step with every subject that it is asked of, in the order of the sequence.
    pub fn work(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        (0..self.sequence().steps.len()).flat_map(move |step| {
            (0..self.subjects.len()).filter(move |subject| self.asked_of(step, *subject)).map(move |s| (step, s))
        })
    }

    /// The indexes of the walls.
    pub fn walls(&self) -> Vec<usize> {
        let is_wall = |index: &usize| matches!(self.subjects.get(*index), Subject::Wall(_));
        (0..self.subjects.len()).filter(is_wall).collect()
    }

    /// The subjects on which a hold point is released, for something done on `subject`.
    pub(super) fn hold_subjects(&self, per: SubjectKind, subject: usize) -> Vec<usize> {
        match per {
            SubjectKind::Job => vec![0],
            _ if *self.subjects.get(subject) == Subject::Job => self.walls(),
            _ => self.subjects.walls_of(subject).to_vec(),
        }
    }

    /// The rows of the read tables.
    pub fn read_side(&self) -> ReadSide {
        let sequence = self.sequence();
        let mut holds: Vec<HoldRow> = self
            .holds()
            .into_iter()
            .map(|(hold, subject, life)| HoldRow {
                hold: sequence.holds[hold].key.clone(),
                subject: self.subjects.get(subject).to_string(),
                state: life.state.word(),
            })
            .collect();
        holds.sort();
        let mut defects: Vec<DefectRow> = self
            .defects
            .iter()
            .map(|defect| DefectRow {
                id: defect.id.clone(),
                subject: defect.subject.clone(),
                state: defect.state.word(),
                what: defect.what.clone(),
            })
            .collect();
        defects.sort();
        let struck = self.struck.iter().map(|(id, by)| (id.clone(), by.clone())).collect();
        ReadSide { struck, holds, defects }
    }
}

impl Day {
    /// When it ended: when it was closed; else, as far as `now`, when a day left open is over.
    pub fn until(&self, now: Moment) -> Moment {
        self.closed_at.unwrap_or_else(|| now.min(self.opened_at + LONGEST_DAY))
    }

    /// Whether it is the same day in another state of the job.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        (&self.device, self.opened_at) == (&other.device, other.opened_at)
    }

    /// Who was on site at a moment.
    pub fn crew_at(&self, at: Moment) -> impl Iterator<Item = &str> {
        self.crew.iter().filter(move |(_, since)| *since <= at).map(|(name, _)| name.as_str())
    }
}
