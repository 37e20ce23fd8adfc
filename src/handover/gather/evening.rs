//! The evening report of a day, from the record.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};

use crate::accounts::{Period, claim, lost_on, pace, stood};
use crate::day::{Book, ReplayError, State};
use crate::handover::model::{
    Ahead, Evening, ExtraOfDay, HoldOfDay, Measured, StepOfDay, StoppageOfDay, Weather, Worked,
};
use crate::moment::{Moment, day_begins};
use crate::record::Body;

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
            head: book.head_code(),
        })
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
pub fn crew(days: &[&crate::day::Day]) -> Vec<Worked> {
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

pub fn weather(state: &State, begins: Moment, ends: Moment) -> Vec<Weather> {
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
pub fn measured(state: &State, claim: &crate::accounts::Claim) -> Vec<Measured> {
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
