//! Steps with their answers, readings, windows, hold points and defects.

use std::collections::BTreeMap;

use super::{Bases, part_of, part_of_id};
use crate::conditions::dew;
use crate::day::{Book, Done, HoldStatus, Judged, Phase, Run, State};
use crate::handover::model::{Answered, DefectTold, HoldTold, ReadingTold, StepTold, WindowTold, clock_on, when};
use crate::moment::{Moment, span};
use crate::record::{Body, EntryId};
use crate::units::{Humidity, Temperature};

pub fn steps(book: &Book, defects: &[DefectTold], bases: &mut Bases) -> Vec<StepTold> {
    let state = &book.state;
    // The edition that each was recorded under: its questions and tolerances are the ones that count.
    let mut as_done: BTreeMap<&EntryId, &Done> = BTreeMap::new();
    for step in 0..state.sequence().steps.len() {
        for subject in 0..state.subjects.len() {
            as_done.extend(state.done(step, subject).iter().map(|done| (&done.entry, done)));
        }
    }
    let mut told = Vec::new();
    for entry in book.in_time() {
        let Body::StepDone(step_done) = &entry.body else { continue };
        let (key, id) = (&step_done.step, entry.id());
        let done = as_done.get(&id).copied();
        let found = done
            .and_then(|done| state.editions.get(done.edition))
            .and_then(|sequence| sequence.step(key).map(|at| &sequence.steps[at]))
            .or_else(|| state.editions.iter().rev().find_map(|one| one.step(key).map(|at| &one.steps[at])));
        told.push(StepTold {
            part: part_of_id(state, &step_done.subject),
            subject: step_done.subject.clone(),
            step: key.clone(),
            title: found.map_or_else(|| key.clone(), |step| step.title.clone()),
            at: entry.happened_at,
            late: entry.is_late(),
            by: entry.by.clone(),
            answers: done.map_or_else(Vec::new, |done| {
                done.answers.iter().map(|judged| answered(judged, defects, bases)).collect()
            }),
            anyway: step_done.anyway.clone(),
            entry: id.to_string(),
        });
    }
    told
}

pub fn answered(judged: &Judged, defects: &[DefectTold], bases: &mut Bases) -> Answered {
    let Judged { ask, held, defect, .. } = judged;
    let id = defect.as_ref().map(ToString::to_string);
    let defect = id.and_then(|id| defects.iter().find(|defect| defect.id == id));
    Answered {
        ask: ask.key.clone(),
        prompt: ask.prompt.clone(),
        answer: judged.in_words(),
        value: judged.value(),
        unit: if judged.value().is_some() { ask.unit() } else { "" },
        sha256: judged.sha256().map(str::to_owned),
        within: *held,
        allowed: judged.allowed(),
        basis: ask.basis.as_ref().map(|basis| bases.number(basis)),
        defect: defect.map(|defect| format!("defect {}, {}", defect.number, defect.state)),
    }
}

pub fn windows(state: &State, now: Moment, bases: &mut Bases) -> Vec<WindowTold> {
    let mut told = Vec::new();
    for (index, window) in state.sequence().windows.iter().enumerate() {
        for (at, subject) in state.subjects.all().iter().enumerate() {
            let runs = state.runs_of(index, at);
            for (place, run) in runs.iter().enumerate() {
                let again = runs.get(place + 1).map(|next| next.from.at);
                let (word, says) = outcome(run, again, now);
                told.push(WindowTold {
                    key: window.key.clone(),
                    title: window.title.clone(),
                    part: part_of(subject),
                    subject: subject.to_string(),
                    from_entry: run.from.entry.to_string(),
                    began_at: run.from.at,
                    opens_at: run.opens_at,
                    closes_at: run.closes_at,
                    answered_at: run.answered.map(|done| done.at),
                    to_entry: run.answered.map(|done| done.entry.to_string()),
                    spoiled_at: run.spoiled.map(|spoiled| spoiled.at),
                    state: word,
                    says,
                    basis: bases.number(&window.basis),
                });
            }
        }
    }
    told
}

/// How a run ended: the word and the sentence.
pub fn outcome(run: &Run<'_>, again: Option<Moment>, now: Moment) -> (&'static str, String) {
    let spoiled = run.spoiled.map(|it| format!("{} at {}", it.by, clock_on(&it.at, &run.from.at)));
    if let Some(done) = run.answered {
        let after = span(done.at - run.from.at);
        return if done.at < run.opens_at {
            ("early", format!("done {} too early", span(run.opens_at - done.at)))
        } else if let Some(spoiled) = spoiled {
            ("late", format!("done after it had lapsed: {spoiled}"))
        } else if let Some(closes) = run.closes_at.filter(|closes| *closes < done.at) {
            ("late", format!("done {} too late", span(done.at - closes)))
        } else {
            ("met", format!("met, {after} after it began"))
        };
    }
    let upto = again.map_or(now, |again| again.min(now));
    let then = again.map(|at| format!("; begun again at {}", clock_on(&at, &run.from.at))).unwrap_or_default();
    if run.lapsed(upto).is_some() {
        let why = spoiled.unwrap_or_else(|| "closed unused".to_owned());
        return ("lapsed", format!("lapsed: {why}{then}"));
    }
    match (again, run.phase(now)) {
        (Some(_), _) => ("again", format!("not used{then}")),
        (None, Phase::Waiting) => ("running", format!("running: opens {}", when(&run.opens_at))),
        (None, _) => match run.closes_at {
            Some(closes) => ("running", format!("running: closes {}", when(&closes))),
            None => ("running", "running: open".to_owned()),
        },
    }
}

pub fn defects(state: &State) -> Vec<DefectTold> {
    let mut told: Vec<DefectTold> = state
        .defects
        .iter()
        .enumerate()
        .map(|(index, defect)| DefectTold {
            number: index + 1,
            id: defect.id.to_string(),
            part: part_of_id(state, &defect.subject),
            subject: defect.subject.clone(),
            rule: defect.rule.map(|rule| rule.to_string()),
            what: defect.what.clone(),
            opened_by: defect.opened_by().to_string(),
            opened_at: defect.opened_at,
            state: defect.state.word(),
            how: defect.how.clone(),
            person: defect.person.clone(),
            ended_at: defect.ended_at,
            ended_by: defect.ended_by.as_ref().map(EntryId::to_string),
        })
        .collect();
    // The sort is stable: numbers stay in the order in which they were opened.
    told.sort_by_key(|defect| match defect.state {
        "open" => 0,
        "conceded" => 1,
        _ => 2,
    });
    told
}

pub fn holds(state: &State) -> Vec<HoldTold> {
    let told = |hold: HoldStatus| HoldTold {
        state: if hold.dropped_by.is_some() { "dropped" } else { hold.state.word() },
        entry: hold.entry.as_ref().map(EntryId::to_string),
        key: hold.key,
        title: hold.title,
        subject: hold.subject,
        roles: hold.roles,
        person: hold.person,
        role: hold.role,
        at: hold.at,
        how: match &hold.dropped_by {
            Some(by) => {
                let stood = hold.how.as_ref().map(|how| format!("{} then: {how}; ", hold.state.word()));
                Some(format!("{}dropped from the sequence by entry {by}", stood.unwrap_or_default()))
            }
            None if hold.after_work => {
                let recorded = hold.recorded_at.as_ref().map(when).unwrap_or_default();
                let how = hold.how.unwrap_or_default();
                Some(format!("{how}; recorded {recorded}, after the work that it lets pass"))
            }
            None => hold.how,
        },
        evidence: hold.evidence,
        asked_at: hold.asked_at,
    };
    let in_force = state.holds().into_iter().map(|(_, _, hold)| hold);
    in_force.chain(state.dropped_holds.iter().cloned()).map(told).collect()
}

pub fn readings(state: &State) -> Vec<ReadingTold> {
    let mut told = Vec::new();
    for index in 0..state.subjects.len() {
        for reading in state.readings(index) {
            let air = Temperature::celsius(reading.air_c);
            let dew = dew::dew_point(air, Humidity::percent(reading.humidity_pct)).ok();
            told.push(ReadingTold {
                entry: reading.entry.to_string(),
                subject: state.subjects.get(index).to_string(),
                at: reading.at,
                air_c: reading.air_c,
                humidity_pct: reading.humidity_pct,
                surface_c: reading.surface_c,
                // A tenth is as fine as it was read, and the same on every machine.
                dew_point_c: dew.map(|dew| (dew.as_celsius() * 10.0).round() / 10.0 + 0.0),
                wind_kmh: reading.wind_kmh,
                rain: reading.rain,
                recorded_after_work: state.read_after_work.contains(&reading.entry).then_some(reading.recorded_at),
            });
        }
    }
    told
}
