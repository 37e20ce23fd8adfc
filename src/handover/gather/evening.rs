//! The evening report of a day, from the record.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::confirmations;
use super::for_builder::said;
use super::work::step_title;
use crate::accounts::{Claim, Period, claim, lost_on, pace, stood};
use crate::building::{SubjectIx, Unit, on_words};
use crate::day::{
    Attendance, Book, Day, Defect, DefectState, Done, ExtraWork, Reading, ReplayError, Saying, State, Stoppage,
};
use crate::handover::model::{
    Ahead, Confirmation, Evening, ForBuilder, HoldOfDay, Measured, StepOfDay, Weather, Worked, values, what_is_wrong,
};
use crate::moment::{Moment, day_begins};
use crate::record::{Body, Entry, EntryId, StepDone};
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
        let extras: Vec<ExtraWork> = state.extras.iter().filter(|extra| of_day(extra.at)).cloned().collect();
        let sayings = unconfirmed(book, &of_day, ends);
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
            for_builder: ForBuilder::of(state, &extras, &sayings, as_of),
            extras,
            defects: defects(state, date),
            ahead: Ahead::of(state, as_of),
            pace: pace(state, as_of).in_words(),
            to_confirm: said(state, &sayings).iter().map(|(who, did)| format!("{who} to confirm: {did}")).collect(),
            // Made again later, the page of an evening bears the code that was sent that evening.
            head: book.head_at(ends).map(Entry::head_code),
            done: done(state, &entries),
            holds: holds(state, &entries),
            also: also(state, &entries, |id| book.entry(id).is_some_and(|entry| of_day(entry.happened_at))),
        })
    }
}

/// What people are said to have said on a day, and had not confirmed by its end.
fn unconfirmed(book: &Book, of_day: &impl Fn(Moment) -> bool, ends: Moment) -> Vec<Saying> {
    let open = |one: &Confirmation| one.is_open() || one.at.is_some_and(|at| at > ends);
    let of_day = confirmations(book).into_iter().filter(|one| of_day(one.saying.at) && open(one));
    of_day.map(|one| one.saying).collect()
}

/// Defects of a day that are more than a slip of the typist.
fn defects(state: &State, date: NaiveDate) -> Vec<Defect> {
    let of_day = state.defects.iter().filter(|it| it.opened_at.date() == date && it.state != DefectState::Void);
    of_day.map(|defect| Defect { what: what_is_wrong(state, defect), ..defect.clone() }).collect()
}

/// The steps of a day; what was measured last out of tolerance is not done.
fn done(state: &State, entries: &[&Entry]) -> Vec<StepOfDay> {
    let is_out = |it: &StepDone| {
        let place = state.sequence().step(&it.step).zip(state.subjects.index(&it.subject));
        place.and_then(|(step, on)| state.done(step, on).last()).is_some_and(Done::is_out_of_tolerance)
    };
    let steps = entries.iter().filter_map(|entry| match &entry.body {
        Body::StepDone(it) if !is_out(it) => Some((it.step.as_str(), it.subject.as_str())),
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
    let title = |key: &String| state.sequence().hold(key).map(|hold| state.sequence().holds[hold].title.clone());
    let hold = |((key, what, at, says), on): ((&String, &'static str, Moment, String), Vec<&str>)| HoldOfDay {
        key: key.clone(),
        title: title(key).unwrap_or_else(|| key.clone()),
        on: state.subjects.ids_shortly(on),
        what,
        at,
        says,
    };
    grouped(held).into_iter().map(hold).collect()
}

/// What is not listed in a place of its own, in the order in which it happened, whenever it was written down. Sums that were
/// kept, what was counted onto a wall, keys and phones are the crew's own bookkeeping, and so is what was struck on the day
/// that it was recorded: the log has them.
fn also(state: &State, entries: &[&Entry], is_of_day: impl Fn(&EntryId) -> bool) -> Vec<String> {
    let is_listed = |body: &Body| match body {
        Body::StockTaken(it) => it.how.is_on_the_wall(),
        Body::Struck(it) => is_of_day(&it.entry),
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
                | Body::KeyUsed(_)
                | Body::StampTaken(_)
                | Body::PhonePaired(_)
                | Body::PhoneForgotten(_)
        ),
    };
    let mut also: Vec<&&Entry> = entries.iter().filter(|entry| !is_listed(&entry.body)).collect();
    also.sort_by_key(|entry| entry.happened_at);
    let line = |entry: &&Entry| format!("{} {}", entry.happened_at.format("%H:%M"), in_words(state, &entry.body));
    also.into_iter().map(line).collect()
}

/// An entry for people: a defect by its place, not by its id; a photo by what it shows, not by the name of its file.
fn in_words(state: &State, body: &Body) -> String {
    let (defect, did, who, how) = match body {
        Body::DefectClosed(it) => (state.defect(&it.defect), "closed", &it.person, &it.how),
        Body::DefectConceded(it) => (state.defect(&it.defect), "conceded", &it.person, &it.why),
        Body::PhotoAdded(it) => {
            let step = it.step.as_ref().map(|step| format!(" of '{}'", step_title(state, step).unwrap_or(step)));
            let note = it.note.as_ref().map(|note| format!(": {note}"));
            let (step, note) = (step.unwrap_or_default(), note.unwrap_or_default());
            return format!("photo{step}{}{note}", on_words(&it.subject));
        }
        other => return other.in_words(),
    };
    let on = defect.map(|defect| on_words(&defect.subject)).unwrap_or_default();
    format!("defect{on} {did} by {who}: {how}")
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
    let alike = of_day.map(|(wall, one)| ((one.at, values(one)), (wall, one)));
    let mut weather = grouped(alike);
    weather.sort_by_key(|((at, _), _)| *at);
    let line = |(_, readings): (_, Vec<(SubjectIx, &Reading)>)| {
        let walls: Vec<SubjectIx> = readings.iter().map(|(wall, _)| *wall).collect();
        Weather { on: state.subjects.shortly(&walls), reading: readings[0].1.clone() }
    };
    weather.into_iter().map(line).collect()
}

/// What became complete, by stage over the whole building.
fn measured(state: &State, claim: &Claim) -> Vec<Measured> {
    let lines = claim.lines.iter().filter(|line| !line.period.is_zero());
    let mut sums = grouped(lines.map(|line| ((&line.stage, &line.title, line.unit), line.period)));
    sums.sort_by_key(|((key, ..), _)| state.sequence().stages.index_of(|stage| stage.key == **key));
    let line = |((stage, title, unit), quantities): ((&String, &String, Unit), Vec<Decimal>)| Measured {
        stage: stage.clone(),
        title: title.clone(),
        unit: unit.into(),
        quantity: quantities.into_iter().sum::<Decimal>().to_f64().unwrap_or_default(),
    };
    sums.into_iter().map(line).collect()
}
