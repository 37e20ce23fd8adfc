//! The evening report: one page that says what became of a day, what it cost, and what comes next.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::ahead::Ahead;
use crate::accounts::{Period, claim, lost_on, pace, stood};
use crate::day::{Book, ReplayError, State};
use crate::moment::{Moment, day_begins};
use crate::record::Body;
use crate::units::number::{crew_hours, show};

/// A day in the record.
#[derive(Debug, Clone, Serialize)]
pub struct Evening {
    /// The day.
    pub date: NaiveDate,
    /// Name of the job.
    pub job: String,
    /// Where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// The moment as of which it speaks: when the day was closed, or its end.
    pub as_of: Moment,
    /// Something was written under a rehearsal clock.
    pub rehearsal: bool,
    /// Who was on site, and the hours each worked, when the day was closed.
    pub crew: Vec<Worked>,
    /// Hours of all together.
    pub hours: f64,
    /// A day of that date was opened and not closed.
    pub open: bool,
    /// The pre-start talk.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// Hazards.
    pub hazards: Vec<String>,
    /// Remarks at closing.
    pub remarks: Vec<String>,
    /// Readings of site conditions.
    pub weather: Vec<Weather>,
    /// Heat, dust and lifting as the day ended: each with its number and what it rests on.
    pub exposures: Vec<String>,
    /// What was done, step by step.
    pub done: Vec<StepOfDay>,
    /// How much became complete, by stage.
    pub measured: Vec<Measured>,
    /// Releases asked for, given and refused.
    pub holds: Vec<HoldOfDay>,
    /// Stoppages that touched the day.
    pub stoppages: Vec<StoppageOfDay>,
    /// Crew-hours lost to them on that day, time that two of them share counted once.
    pub crew_hours_lost: f64,
    /// Extra work asked for.
    pub extras: Vec<ExtraOfDay>,
    /// Everything else that was recorded, in words.
    pub also: Vec<String>,
    /// Defects opened on that day, in words.
    pub defects: Vec<String>,
    /// The night, tomorrow, and what is needed from others.
    #[serde(flatten)]
    pub ahead: Ahead,
    /// Days left by the job's own pace, or why they can't be told.
    pub pace: String,
}

/// One person's day.
#[derive(Debug, Clone, Serialize)]
pub struct Worked {
    /// Name.
    pub name: String,
    /// Since when.
    pub since: Moment,
    /// Hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// Site conditions read at one time, alike on some walls.
#[derive(Debug, Clone, Serialize)]
pub struct Weather {
    /// When.
    pub at: Moment,
    /// The walls, written short.
    pub on: String,
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Wind, km/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Rain.
    pub rain: bool,
}

/// A step of the day, with the subjects it was done on.
#[derive(Debug, Clone, Serialize)]
pub struct StepOfDay {
    /// Key of the step.
    pub step: String,
    /// Its title.
    pub title: String,
    /// The subjects, written short.
    pub on: String,
}

/// What became complete of a stage.
#[derive(Debug, Clone, Serialize)]
pub struct Measured {
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// m2, m or each.
    pub unit: &'static str,
    /// How much; less than nought where something had to be opened again.
    pub quantity: f64,
}

/// Something that happened to a hold point.
#[derive(Debug, Clone, Serialize)]
pub struct HoldOfDay {
    /// Key.
    pub key: String,
    /// The subjects, written short.
    pub on: String,
    /// asked, released or refused.
    pub what: &'static str,
    /// When.
    pub at: Moment,
    /// By whom and how.
    pub says: String,
}

/// A stoppage.
#[derive(Debug, Clone, Serialize)]
pub struct StoppageOfDay {
    /// Id of the entry.
    pub id: String,
    /// Where.
    pub on: String,
    /// Why.
    pub cause: String,
    /// Who was told.
    pub told: Vec<String>,
    /// Since when.
    pub started_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Crew-hours lost to it so far.
    pub crew_hours_lost: f64,
}

/// Extra work.
#[derive(Debug, Clone, Serialize)]
pub struct ExtraOfDay {
    /// Id of the entry.
    pub id: String,
    /// Where.
    pub on: String,
    /// What.
    pub what: String,
    /// Who asked.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// How much work, in words.
    pub size: String,
}

impl Evening {
    /// What the record says of a day, seen from its end; of a day that is still going on, from `now`.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn of(book: &Book, date: NaiveDate, now: Moment) -> Result<Self, ReplayError> {
        let zone = book.state.job.time_zone;
        let begins = day_begins(date, zone);
        let ends = date.succ_opt().map_or(now, |next| day_begins(next, zone) - TimeDelta::seconds(1)).min(now);
        let closed = book.state.days.iter().filter(|day| day.date == date).filter_map(|day| day.closed_at).max();
        let as_of = closed.filter(|closed| *closed <= now).unwrap_or(ends);
        let state = book.as_of(ends)?;
        let state = state.as_ref();
        let days: Vec<_> = state.days.iter().filter(|day| day.date == date).collect();
        let mut sorted = Sorted::default();
        for entry in book.entries.iter().filter(|entry| entry.happened_at >= begins && entry.happened_at <= ends) {
            if !state.struck.contains_key(&entry.id()) {
                sorted.take(state, entry);
            }
        }
        let touched =
            |one: &crate::day::Stoppage| one.started_at <= ends && one.ended_at.is_none_or(|ended| ended >= begins);
        let sum = stood(state, touched, as_of);
        let period = Period { from: Some(date), until: Some(date) };
        let measured = claim(book, &[], period, now).map(|claim| measured(state, &claim)).unwrap_or_default();
        Ok(Self {
            date,
            job: state.job.name.clone(),
            address: state.job.address.clone(),
            as_of,
            rehearsal: book.state.rehearsal,
            hours: days.iter().flat_map(|day| day.hours.values()).fold(0.0, |sum, hours| sum + hours),
            crew: crew(&days),
            open: days.iter().any(|day| day.closed_at.is_none()),
            talk: days.iter().find_map(|day| day.talk.clone()),
            hazards: days.iter().flat_map(|day| day.hazards.clone()).collect(),
            remarks: days.iter().filter_map(|day| day.note.clone()).collect(),
            weather: weather(state, begins, ends),
            exposures: state.exposure_lines(as_of),
            done: sorted.done(state),
            holds: sorted.holds(state),
            measured,
            stoppages: sum
                .each
                .iter()
                .map(|(one, lost)| StoppageOfDay {
                    id: one.entry.to_string(),
                    on: one.subject.clone(),
                    cause: one.cause.clone(),
                    told: one.notified.clone(),
                    started_at: one.started_at,
                    ended_at: one.ended_at,
                    crew_hours_lost: *lost,
                })
                .collect(),
            crew_hours_lost: lost_on(state, date, as_of),
            extras: state
                .extras
                .iter()
                .filter(|extra| extra.at >= begins && extra.at <= ends)
                .map(|extra| ExtraOfDay {
                    id: extra.entry.to_string(),
                    on: extra.subject.clone(),
                    what: extra.what.clone(),
                    asked_by: extra.asked_by.clone(),
                    told: extra.notified.clone(),
                    size: extra.size(),
                })
                .collect(),
            also: sorted.also(),
            defects: state
                .defects
                .iter()
                .filter(|defect| defect.opened_at.date() == date)
                .map(|defect| format!("{} on {} ({}): {}", defect.id, defect.subject, defect.state.word(), defect.what))
                .collect(),
            ahead: Ahead::of(state, as_of),
            pace: pace(state, as_of).in_words(),
        })
    }

    /// The report as text, a line each, not broken yet.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!("{}, {}", self.job, self.date.format("%A %-d %B %Y"))];
        if self.open {
            lines.push(format!("The day is not closed yet: as of {}.", self.as_of.format("%H:%M")));
        }
        lines.push(String::new());
        lines.push(format!("On site: {}", self.crew_in_words()));
        lines.extend(self.talk.iter().map(|talk| format!("Talk: {talk}")));
        lines.extend(self.hazards.iter().map(|hazard| format!("Hazard: {hazard}")));
        lines.extend(self.remarks.iter().map(|remark| format!("Remark: {remark}")));
        lines.push(String::new());
        for (heading, list) in self.lists() {
            if heading == DONE || !list.is_empty() {
                lines.push(format!("{heading}:"));
                lines.extend(list.iter().map(|line| format!("  {line}")));
                if list.is_empty() {
                    lines.push("  nothing".to_owned());
                }
            }
        }
        lines.push(format!("Pace: {}", self.pace));
        lines
    }

    /// "Ana 8 h, Tom 8 h: 16 hours".
    pub(super) fn crew_in_words(&self) -> String {
        let each: Vec<String> = self
            .crew
            .iter()
            .map(|worked| match worked.hours {
                Some(hours) => format!("{} {} h", worked.name, show(hours)),
                None => format!("{} from {}", worked.name, worked.since.format("%H:%M")),
            })
            .collect();
        match (each.len(), self.hours > 0.0) {
            (0, _) => "nobody".to_owned(),
            (1, _) | (_, false) => each.join(", "),
            (_, true) => format!("{}: {} hours", each.join(", "), show(self.hours)),
        }
    }

    /// The lists of the report, each with its heading, in the order in which they are read.
    pub(super) fn lists(&self) -> Vec<(&'static str, Vec<String>)> {
        vec![
            ("Weather", self.weather.iter().map(Weather::in_words).collect()),
            ("What the work does", self.exposures.clone()),
            (DONE, self.done.iter().map(|step| format!("{} — {}", step.title, step.on)).collect()),
            ("Complete today", self.measured.iter().map(Measured::in_words).collect()),
            ("Releases", self.holds.iter().map(HoldOfDay::in_words).collect()),
            ("Stoppages", self.stoppages_in_words()),
            ("Extra work", self.extras.iter().map(ExtraOfDay::in_words).collect()),
            ("Also", self.also.clone()),
            ("Defects", self.defects.clone()),
            ("Stands still", self.ahead.stopped.clone()),
            ("Will lapse before anybody is back", self.ahead.lapsing.clone()),
            ("Left open to rain", self.ahead.open_to_rain.clone()),
            ("Materials", self.ahead.materials.clone()),
            ("First thing tomorrow", self.ahead.tomorrow.clone()),
            ("Needed from others", self.ahead.needed.clone()),
        ]
    }

    fn stoppages_in_words(&self) -> Vec<String> {
        let mut told: Vec<String> = self.stoppages.iter().map(|one| one.in_words(self.date)).collect();
        if told.len() > 1 {
            told.push(format!("{} lost today in all", crew_hours(self.crew_hours_lost)));
        }
        told
    }
}

/// The heading of what was done: it stands there also when nothing was.
const DONE: &str = "Done";

impl Weather {
    fn in_words(&self) -> String {
        let wind = self.wind_kmh.map(|wind| format!(", wind {} km/h", show(wind))).unwrap_or_default();
        format!(
            "{} {}: air {} °C, humidity {} %, surface {} °C{wind}{}",
            self.at.format("%H:%M"),
            self.on,
            show(self.air_c),
            show(self.humidity_pct),
            show(self.surface_c),
            if self.rain { ", RAIN" } else { "" }
        )
    }
}

impl Measured {
    fn in_words(&self) -> String {
        let unit = if self.unit == "m2" { "m²" } else { self.unit };
        let unit = if unit == "each" { String::new() } else { format!(" {unit}") };
        format!("{}: {}{unit}", self.title, show(self.quantity))
    }
}

impl HoldOfDay {
    fn in_words(&self) -> String {
        format!("{} {} on {}: {}", self.at.format("%H:%M"), self.key, self.on, self.says)
    }
}

impl StoppageOfDay {
    fn in_words(&self, date: NaiveDate) -> String {
        let until = self.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(date)));
        format!(
            "{} {until}, {}: {}; told {}; {} lost",
            self.started_at.clock(date),
            self.on,
            self.cause,
            self.told.join(", "),
            crew_hours(self.crew_hours_lost)
        )
    }
}

impl ExtraOfDay {
    fn in_words(&self) -> String {
        let told = if self.told.is_empty() { String::new() } else { format!("; told {}", self.told.join(", ")) };
        let size = if self.size.is_empty() { String::new() } else { format!("; {}", self.size) };
        format!("{} on {}; asked for by {}{told}{size}", self.what, self.on, self.asked_by)
    }
}

/// The entries of a day, sorted by what they are told as.
#[derive(Default)]
struct Sorted {
    steps: Vec<(String, Vec<usize>)>,
    holds: Vec<(HoldOfDay, Vec<usize>)>,
    also: Vec<(Moment, String)>,
}

impl Sorted {
    fn take(&mut self, state: &State, entry: &crate::record::Entry) {
        let at = entry.happened_at;
        match &entry.body {
            Body::StepDone(it) => {
                let index = state.subjects.index(&it.subject).unwrap_or(0);
                match self.steps.iter_mut().find(|(key, _)| *key == it.step) {
                    Some((_, on)) if on.contains(&index) => {}
                    Some((_, on)) => on.push(index),
                    None => self.steps.push((it.step.clone(), vec![index])),
                }
            }
            Body::HoldAsked(it) => self.hold(state, &it.hold, &it.subject, "asked", at, "asked for".to_owned()),
            Body::HoldReleased(it) => {
                let says = format!("released by {}, {}", it.person, it.how);
                self.hold(state, &it.hold, &it.subject, "released", at, says);
            }
            Body::HoldRefused(it) => {
                self.hold(state, &it.hold, &it.subject, "refused", at, format!("refused by {}: {}", it.person, it.why));
            }
            // Told in a place of their own.
            Body::DayOpened(_)
            | Body::DayClosed(_)
            | Body::CautionAcknowledged(_)
            | Body::ReadingTaken(_)
            | Body::StoppageStarted(_)
            | Body::StoppageEnded(_)
            | Body::ExtraAdded(_)
            | Body::DefectOpened(_) => {}
            other => self.also.push((at, format!("{} {}", at.format("%H:%M"), other.in_words()))),
        }
    }

    fn hold(&mut self, state: &State, key: &str, subject: &str, what: &'static str, at: Moment, says: String) {
        let index = state.subjects.index(subject).unwrap_or(0);
        let alike = |one: &HoldOfDay| one.key == key && one.what == what && one.at == at && one.says == says;
        match self.holds.iter_mut().find(|(one, _)| alike(one)) {
            Some((_, on)) => on.push(index),
            None => {
                let told = HoldOfDay { key: key.to_owned(), on: String::new(), what, at, says };
                self.holds.push((told, vec![index]));
            }
        }
    }

    /// In the order in which it happened, whenever it was written down.
    fn also(&self) -> Vec<String> {
        let mut also = self.also.clone();
        also.sort_by_key(|(at, _)| *at);
        also.into_iter().map(|(_, said)| said).collect()
    }

    fn holds(&self, state: &State) -> Vec<HoldOfDay> {
        let told = |(one, on): &(HoldOfDay, Vec<usize>)| HoldOfDay { on: state.subjects.shortly(on), ..one.clone() };
        self.holds.iter().map(told).collect()
    }

    fn done(&self, state: &State) -> Vec<StepOfDay> {
        let title = |key: &String| {
            let found = state.editions.iter().rev().find_map(|edition| Some(&edition.steps[edition.step(key)?]));
            found.map_or_else(|| key.clone(), |step| step.title.clone())
        };
        let told = |(key, on): &(String, Vec<usize>)| StepOfDay {
            title: title(key),
            on: state.subjects.shortly(on),
            step: key.clone(),
        };
        self.steps.iter().map(told).collect()
    }
}

/// Everybody of these days: the earliest time each came, the hours of all of them.
fn crew(days: &[&crate::day::Day]) -> Vec<Worked> {
    let mut crew: BTreeMap<&str, Worked> = BTreeMap::new();
    for day in days {
        for (name, since) in &day.crew {
            let worked = crew.entry(name).or_insert_with(|| Worked { name: name.clone(), since: *since, hours: None });
            if let Some(hours) = day.hours.get(name) {
                worked.hours = Some(worked.hours.unwrap_or(0.0) + hours);
            }
        }
    }
    crew.into_values().collect()
}

fn weather(state: &State, begins: Moment, ends: Moment) -> Vec<Weather> {
    let mut told: Vec<(Weather, Vec<usize>)> = Vec::new();
    for &wall in state.subjects.all_walls() {
        for reading in state.readings(wall).iter().filter(|one| one.at >= begins && one.at <= ends) {
            let alike = |one: &Weather| {
                one.at == reading.at
                    && (one.air_c, one.humidity_pct, one.surface_c)
                        == (reading.air_c, reading.humidity_pct, reading.surface_c)
                    && (one.wind_kmh, one.rain) == (reading.wind_kmh, reading.rain)
            };
            match told.iter_mut().find(|(one, _)| alike(one)) {
                Some((_, walls)) => walls.push(wall),
                None => {
                    let one = Weather {
                        at: reading.at,
                        on: String::new(),
                        air_c: reading.air_c,
                        humidity_pct: reading.humidity_pct,
                        surface_c: reading.surface_c,
                        wind_kmh: reading.wind_kmh,
                        rain: reading.rain,
                    };
                    told.push((one, vec![wall]));
                }
            }
        }
    }
    told.sort_by_key(|(one, _)| one.at);
    told.into_iter().map(|(one, walls)| Weather { on: state.subjects.shortly(&walls), ..one }).collect()
}

/// What became complete, by stage over the whole building.
fn measured(state: &State, claim: &crate::accounts::Claim) -> Vec<Measured> {
    use rust_decimal::prelude::ToPrimitive;
    let mut sums: Vec<(Measured, rust_decimal::Decimal)> = Vec::new();
    for line in claim.lines.iter().filter(|line| !line.period.is_zero()) {
        match sums.iter_mut().find(|(one, _)| one.stage == line.stage && one.unit == <&str>::from(line.unit)) {
            Some((_, sum)) => *sum += line.period,
            None => {
                let (stage, title) = (line.stage.clone(), line.title.clone());
                sums.push((Measured { stage, title, unit: line.unit.into(), quantity: 0.0 }, line.period));
            }
        }
    }
    sums.sort_by_key(|(one, _)| state.sequence().stages.iter().position(|stage| stage.key == one.stage));
    sums.into_iter().map(|(one, sum)| Measured { quantity: sum.to_f64().unwrap_or_default(), ..one }).collect()
}
