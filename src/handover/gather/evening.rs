//! The evening report of a day, from the record.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::work::step_title;
use crate::accounts::{Claim, Period, claim, lost_on, pace, stood};
use crate::building::Unit;
use crate::day::{Attendance, Book, Day, Reading, ReplayError, Saying, State, Stoppage, sayings};
use crate::handover::model::{Ahead, Evening, HoldOfDay, Measured, StepOfDay, Weather, Worked};
use crate::moment::{Moment, day_begins};
use crate::record::{Body, Entry};
use crate::table::grouped;

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
        let of_day = |at: Moment| at >= begins && at <= ends;
        let stands = |entry: &&Entry| of_day(entry.happened_at) && !state.struck.contains_key(&entry.id());
        let entries: Vec<&Entry> = book.entries.iter().filter(stands).collect();
        let touched = |one: &Stoppage| one.started_at <= ends && one.ended_at.is_none_or(|ended| ended >= begins);
        let period = Period { from: Some(date), until: Some(date) };
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
            stoppages: stood(state, touched, as_of).each,
            crew_hours_lost: lost_on(state, date, as_of),
            extras: state.extras.iter().filter(|extra| of_day(extra.at)).cloned().collect(),
            defects: state.defects.iter().filter(|defect| defect.opened_at.date() == date).cloned().collect(),
            ahead: Ahead::of(state, as_of),
            pace: pace(state, as_of).in_words(),
            to_confirm: to_confirm(book, state, date),
            head: book.head().map(Entry::head_code),
            done: done(state, &entries),
            holds: holds(state, &entries),
            also: also(&entries),
        })
    }
}

/// What people are said to have said on a day, those alike together.
fn to_confirm(book: &Book, state: &State, date: NaiveDate) -> Vec<String> {
    let mut alike: Vec<(Saying, Vec<usize>)> = Vec::new();
    for saying in sayings(book).into_iter().filter(|saying| saying.at.date() == date) {
        let subject = state.subjects.index(&saying.subject);
        let same = |(one, _): &&mut (Saying, Vec<usize>)| {
            (&one.person, one.kind, &one.of) == (&saying.person, saying.kind, &saying.of)
        };
        match alike.iter_mut().find(same) {
            Some((_, subjects)) => subjects.extend(subject),
            None => alike.push((saying, subject.into_iter().collect())),
        }
    }
    let line = |(saying, subjects): (Saying, Vec<usize>)| {
        let (did, on) = (saying.kind.word(), state.subjects.shortly(&subjects));
        format!("{} to confirm: {did} {on}", saying.person)
    };
    alike.into_iter().map(line).collect()
}

fn done(state: &State, entries: &[&Entry]) -> Vec<StepOfDay> {
    let steps = entries.iter().filter_map(|entry| match &entry.body {
        Body::StepDone(it) => Some((it.step.as_str(), it.subject.as_str())),
        _ => None,
    });
    let step = |(step, on): (&str, Vec<&str>)| StepOfDay {
        step: step.to_owned(),
        title: step_title(state, step).unwrap_or(step).to_owned(),
        on: state.subjects.ids_shortly(on),
    };
    grouped(steps).into_iter().map(step).collect()
}

fn holds(state: &State, entries: &[&Entry]) -> Vec<HoldOfDay> {
    let held = entries.iter().filter_map(|entry| {
        let (key, subject, what, says) = match &entry.body {
            Body::HoldAsked(it) => (&it.hold, &it.subject, "asked", "asked for".to_owned()),
            Body::HoldReleased(it) => {
                (&it.hold, &it.subject, "released", format!("released by {}, {}", it.person, it.how))
            }
            Body::HoldRefused(it) => {
                (&it.hold, &it.subject, "refused", format!("refused by {}: {}", it.person, it.why))
            }
            _ => return None,
        };
        Some(((key, what, entry.happened_at, says), subject.as_str()))
    });
    let hold = |((key, what, at, says), on): ((&String, &'static str, Moment, String), Vec<&str>)| HoldOfDay {
        key: key.clone(),
        on: state.subjects.ids_shortly(on),
        what,
        at,
        says,
    };
    grouped(held).into_iter().map(hold).collect()
}

/// What is not listed in a place of its own, in the order in which it happened, whenever it was written down. Sums that were
/// kept and what was counted onto a wall are the crew's own bookkeeping.
fn also(entries: &[&Entry]) -> Vec<String> {
    let is_listed = |body: &Body| match body {
        Body::StockTaken(it) => it.how.is_on_the_wall(),
        _ => matches!(
            body,
            Body::StepDone(_)
                | Body::HoldAsked(_)
                | Body::HoldReleased(_)
                | Body::HoldRefused(_)
                | Body::DayOpened(_)
                | Body::DayClosed(_)
                | Body::CautionAcknowledged(_)
                | Body::ReadingTaken(_)
                | Body::StoppageStarted(_)
                | Body::StoppageEnded(_)
                | Body::ExtraAdded(_)
                | Body::DefectOpened(_)
                | Body::PlanKept(_)
        ),
    };
    let mut also: Vec<&&Entry> = entries.iter().filter(|entry| !is_listed(&entry.body)).collect();
    also.sort_by_key(|entry| entry.happened_at);
    also.into_iter().map(|entry| format!("{} {}", entry.happened_at.format("%H:%M"), entry.body.in_words())).collect()
}

/// Everybody of these days: the earliest time each came, the hours of all of them.
fn crew(days: &[&Day]) -> Vec<Worked> {
    let mut crew: BTreeMap<&str, Worked> = BTreeMap::new();
    for Attendance { name, since, left_at, hours } in days.iter().flat_map(|day| day.people()) {
        let new = || Worked { name: name.to_owned(), since, left_at: None, hours: None };
        let worked = crew.entry(name).or_insert_with(new);
        worked.left_at = left_at;
        if let Some(hours) = hours {
            worked.hours = Some(worked.hours.unwrap_or(0.0) + hours);
        }
    }
    crew.into_values().collect()
}

fn weather(state: &State, begins: Moment, ends: Moment) -> Vec<Weather> {
    let walls = state.subjects.all_walls().iter();
    let readings = walls.flat_map(|&wall| state.readings(wall).iter().map(move |reading| (wall, reading)));
    let of_day = readings.filter(|(_, one)| one.at >= begins && one.at <= ends);
    let read = |one: &Reading| (one.air_c, one.humidity_pct, one.surface_c, one.wind_kmh, one.beaufort, one.rain);
    let alike = of_day.map(|(wall, one)| ((one.at, read(one)), (wall, one)));
    let mut weather = grouped(alike);
    weather.sort_by_key(|((at, _), _)| *at);
    let line = |(_, readings): (_, Vec<(usize, &Reading)>)| {
        let walls: Vec<usize> = readings.iter().map(|(wall, _)| *wall).collect();
        Weather { on: state.subjects.shortly(&walls), reading: readings[0].1.clone() }
    };
    weather.into_iter().map(line).collect()
}

/// What became complete, by stage over the whole building.
fn measured(state: &State, claim: &Claim) -> Vec<Measured> {
    let lines = claim.lines.iter().filter(|line| !line.period.is_zero());
    let mut sums = grouped(lines.map(|line| ((&line.stage, &line.title, line.unit), line.period)));
    sums.sort_by_key(|((key, ..), _)| state.sequence().stages.iter().position(|stage| stage.key == **key));
    let line = |((stage, title, unit), quantities): ((&String, &String, Unit), Vec<Decimal>)| Measured {
        stage: stage.clone(),
        title: title.clone(),
        unit: unit.into(),
        quantity: quantities.into_iter().sum::<Decimal>().to_f64().unwrap_or_default(),
    };
    sums.into_iter().map(line).collect()
}
