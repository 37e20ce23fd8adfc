//! The evening report of a day, from the record.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::work::step_title;
use crate::accounts::{Claim, Period, StoppageRow, claim, lost_on, pace, stood};
use crate::day::{Book, Day, ReplayError, State, Stoppage};
use crate::handover::model::{Ahead, Evening, HoldOfDay, Measured, StepOfDay, Weather, Worked};
use crate::moment::{Moment, day_begins};
use crate::record::{Body, Entry};

impl Evening {
    /// What the record says of a day, seen from its end; of a day that is still going on, from `now`.
    ///
    /// # Errors
    /// [`ReplayError`].
    pub fn of(book: &Book, date: NaiveDate, now: Moment) -> Result<Self, ReplayError> {
        let zone = book.state.job.time_zone;
        let begins = day_begins(date, zone);
        let ends = date.succ_opt().map_or(now, |next| day_begins(next, zone) - TimeDelta::seconds(1)).min(now);
        // A day may be closed on the next morning: what its closing says is taken from what is known now.
        let known = book.as_of(now)?;
        let days: Vec<&Day> = known.days.iter().filter(|day| day.date == date).collect();
        let closed = days.iter().filter_map(|day| day.closed_at).max();
        let as_of = closed.filter(|closed| *closed <= ends).unwrap_or(ends);
        let state = book.as_of(ends)?;
        let state = state.as_ref();
        let mut entries = EntriesOfDay::default();
        for entry in book.entries.iter().filter(|entry| entry.happened_at >= begins && entry.happened_at <= ends) {
            if !state.struck.contains_key(&entry.id()) {
                entries.add(state, entry);
            }
        }
        let touched = |one: &Stoppage| one.started_at <= ends && one.ended_at.is_none_or(|ended| ended >= begins);
        let stoppages = stood(state, touched, as_of).each;
        let period = Period { from: Some(date), until: Some(date) };
        let of_day = |at: Moment| at >= begins && at <= ends;
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
            measured: claim(book, &[], period, now).map(|claim| measured(state, &claim)).unwrap_or_default(),
            stoppages: stoppages.into_iter().map(|(stoppage, lost_h)| StoppageRow::of(stoppage, lost_h)).collect(),
            crew_hours_lost: lost_on(state, date, as_of),
            extras: state.extras.iter().filter(|extra| of_day(extra.at)).cloned().collect(),
            defects: state.defects.iter().filter(|defect| defect.opened_at.date() == date).cloned().collect(),
            ahead: Ahead::of(state, as_of),
            pace: pace(state, as_of).in_words(),
            head: book.head_code(),
            done: entries.done(state),
            holds: entries.holds(state),
            also: entries.also(),
        })
    }
}

/// The entries of a day that are not listed in a place of their own.
#[derive(Default)]
struct EntriesOfDay {
    /// Keys of steps with the subjects that each was done on.
    steps: Vec<(String, Vec<usize>)>,
    holds: Vec<(HoldOfDay, Vec<usize>)>,
    also: Vec<(Moment, String)>,
}

impl EntriesOfDay {
    fn add(&mut self, state: &State, entry: &Entry) {
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
            // Listed in a place of their own.
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
                let hold = HoldOfDay { key: key.to_owned(), on: String::new(), what, at, says };
                self.holds.push((hold, vec![index]));
            }
        }
    }

    /// In the order in which it happened, whenever it was written down.
    fn also(mut self) -> Vec<String> {
        self.also.sort_by_key(|(at, _)| *at);
        self.also.into_iter().map(|(_, line)| line).collect()
    }

    fn holds(&self, state: &State) -> Vec<HoldOfDay> {
        let on = |(one, on): &(HoldOfDay, Vec<usize>)| HoldOfDay { on: state.subjects.shortly(on), ..one.clone() };
        self.holds.iter().map(on).collect()
    }

    fn done(&self, state: &State) -> Vec<StepOfDay> {
        let step = |(key, on): &(String, Vec<usize>)| StepOfDay {
            title: step_title(state, key).unwrap_or(key).to_owned(),
            on: state.subjects.shortly(on),
            step: key.clone(),
        };
        self.steps.iter().map(step).collect()
    }
}

/// Everybody of these days: the earliest time each came, the hours of all of them.
fn crew(days: &[&Day]) -> Vec<Worked> {
    let mut crew: BTreeMap<&str, Worked> = BTreeMap::new();
    for (name, since, hours) in days.iter().flat_map(|day| day.people()) {
        let worked = crew.entry(name).or_insert_with(|| Worked { name: name.to_owned(), since, hours: None });
        if let Some(hours) = hours {
            worked.hours = Some(worked.hours.unwrap_or(0.0) + hours);
        }
    }
    crew.into_values().collect()
}

fn weather(state: &State, begins: Moment, ends: Moment) -> Vec<Weather> {
    let mut alike: Vec<(Weather, Vec<usize>)> = Vec::new();
    for &wall in state.subjects.all_walls() {
        for reading in state.readings(wall).iter().filter(|one| one.at >= begins && one.at <= ends) {
            let same = |one: &Weather| {
                let one = &one.reading;
                one.at == reading.at
                    && (one.air_c, one.humidity_pct, one.surface_c, one.wind_kmh, one.rain)
                        == (reading.air_c, reading.humidity_pct, reading.surface_c, reading.wind_kmh, reading.rain)
            };
            match alike.iter_mut().find(|(one, _)| same(one)) {
                Some((_, walls)) => walls.push(wall),
                None => alike.push((Weather { on: String::new(), reading: reading.clone() }, vec![wall])),
            }
        }
    }
    alike.sort_by_key(|(one, _)| one.reading.at);
    alike.into_iter().map(|(one, walls)| Weather { on: state.subjects.shortly(&walls), ..one }).collect()
}

/// What became complete, by stage over the whole building.
fn measured(state: &State, claim: &Claim) -> Vec<Measured> {
    let mut sums: Vec<(Measured, Decimal)> = Vec::new();
    for line in claim.lines.iter().filter(|line| !line.period.is_zero()) {
        let unit: &str = line.unit.into();
        match sums.iter_mut().find(|(one, _)| one.stage == line.stage && one.unit == unit) {
            Some((_, sum)) => *sum += line.period,
            None => {
                let (stage, title) = (line.stage.clone(), line.title.clone());
                sums.push((Measured { stage, title, unit, quantity: 0.0 }, line.period));
            }
        }
    }
    sums.sort_by_key(|(one, _)| state.sequence().stages.iter().position(|stage| stage.key == one.stage));
    sums.into_iter().map(|(one, sum)| Measured { quantity: sum.to_f64().unwrap_or_default(), ..one }).collect()
}
