//! From a job's record to the [`Document`].

use std::collections::BTreeMap;

use super::costs::Costs;
use super::document::{
    Acknowledged, Answered, DayWorked, DefectTold, Document, Edition, HeldPaper, HoldTold, JobFacts, LateTold, Logged,
    OnSite, Part, PersonTold, ReadingTold, StepTold, StruckTold, Summary, WindowTold,
};
use super::materials::Materials;
use super::missing::missing;
use super::pictures::Album;
use super::text::{clock_on, when};
use crate::building::Subject;
use crate::conditions::dew;
use crate::day::{Book, DefectState, Done, HoldState, HoldStatus, Judged, Phase, Run, State};
use crate::digest::sha256_hex;
use crate::moment::{Moment, span};
use crate::plain::visible;
use crate::record::{Body, Entry, EntryId, jsonl};
use crate::sequence::{Basis, Sequence};
use crate::units::{Humidity, Temperature};

impl Document {
    /// Gathers what a job's record says at a moment, without a look at its photos.
    pub fn of(book: &Book, made_at: Moment) -> Self {
        Self::with(book, made_at, &Album::default(), None)
    }

    /// Gathers what a job's record says at a moment, with its photos, for a pack signed by a key.
    pub fn with(book: &Book, made_at: Moment, album: &Album, key: Option<String>) -> Self {
        let state = &book.state;
        let mut bases = Bases::default();
        let defects = defects(state);
        let steps = steps(book, &defects, &mut bases);
        let windows = windows(state, made_at, &mut bases);
        let photos = super::photo_pages::told(book, album);
        let mut missing = missing(state, made_at);
        missing.extend(super::photo_pages::missing(&photos));
        let log = log(book);
        Self {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            made_at,
            rehearsal: state.rehearsal,
            complete: missing.is_empty(),
            withheld: 0,
            job: job_facts(book),
            remarks: remarks(state, made_at),
            summary: summary(state, made_at, &steps, &windows, &log),
            missing,
            holds: holds(state),
            parts: parts(state),
            photos,
            no_places: album.no_places,
            key,
            readings: readings(state),
            late: late(book),
            struck: struck(book),
            people: people(state),
            days: days(state),
            cautions: cautions(state),
            costs: Costs::of(book, made_at),
            papers: papers(state),
            materials: Materials::of(state, made_at),
            ordered: super::ordered::Ordered::of(state),
            not_understood: state.not_understood.iter().map(EntryId::to_string).collect(),
            care: state.sequence().care.clone(),
            record_sha256: sha256_hex(jsonl(&book.entries).as_bytes()),
            joints: super::sealing::joints(state, &windows),
            seal_plans: super::sealing::plans(state, made_at),
            forecasts: super::sealing::forecasts(book),
            steps,
            windows,
            defects,
            log,
            bases: bases.lines,
        }
    }
}

/// The bases named so far, each once.
#[derive(Default)]
struct Bases {
    lines: Vec<String>,
}

impl Bases {
    /// The number of a basis, from 1.
    fn number(&mut self, basis: &Basis) -> usize {
        let line = basis.to_string();
        match self.lines.iter().position(|known| *known == line) {
            Some(at) => at + 1,
            None => {
                self.lines.push(line);
                self.lines.len()
            }
        }
    }
}

/// The part of the building under which a subject is told.
pub(super) fn part_of(subject: &Subject) -> String {
    match subject {
        Subject::Corner(key) => key.clone(),
        other => other.wall().unwrap_or("job").to_owned(),
    }
}

pub(super) fn part_of_id(state: &State, id: &str) -> String {
    state.subjects.index(id).map_or_else(|| "job".to_owned(), |index| part_of(state.subjects.get(index)))
}

fn job_facts(book: &Book) -> JobFacts {
    let state = &book.state;
    let mut adopted: Vec<(&Entry, Option<&String>)> = book
        .entries
        .iter()
        .filter(|entry| !state.struck.contains_key(&entry.id()) || matches!(entry.body, Body::JobAdded(_)))
        .filter_map(|entry| match &entry.body {
            Body::JobAdded(_) => Some((entry, None)),
            Body::SequenceAdopted(it) => Some((entry, Some(&it.why))),
            _ => None,
        })
        .collect();
    adopted.sort_by_key(|(entry, why)| (why.is_some(), entry.recorded_at, entry.causal_rank()));
    let edition = |(sequence, (entry, why)): (&std::sync::Arc<Sequence>, (&Entry, Option<&String>))| Edition {
        key: sequence.key.clone(),
        title: sequence.title.clone(),
        edition: sequence.edition.clone(),
        sha256: sequence.sha256.clone(),
        since: if why.is_some() { entry.recorded_at } else { entry.happened_at },
        why: why.cloned(),
    };
    JobFacts {
        key: state.job.key.clone(),
        name: state.job.name.clone(),
        address: state.job.address.clone(),
        builder: state.job.builder.clone(),
        time_zone: state.job.time_zone.name().to_owned(),
        editions: state.editions.iter().zip(adopted).map(edition).collect(),
        comes_first: state.sequence().comes_first.trim().to_owned(),
    }
}

fn parts(state: &State) -> Vec<Part> {
    let job = Part { key: "job".to_owned(), title: "The whole building".to_owned(), wall: None, set_out: None };
    let walls = state.job.walls.iter().map(|wall| Part {
        key: wall.key.clone(),
        title: if wall.name == wall.key {
            format!("Wall {}", wall.key)
        } else {
            format!("Wall {}: {}", wall.key, wall.name)
        },
        wall: Some(wall.clone()),
        set_out: super::set_out::of(state, wall),
    });
    let corners = state.job.corners.iter().map(|corner| Part {
        key: corner.key.clone(),
        title: format!("Corner {}: {}, walls {}", corner.key, corner.kind, corner.walls.join(" and ")),
        wall: None,
        set_out: None,
    });
    std::iter::once(job).chain(walls).chain(corners).collect()
}

fn steps(book: &Book, defects: &[DefectTold], bases: &mut Bases) -> Vec<StepTold> {
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

fn answered(judged: &Judged, defects: &[DefectTold], bases: &mut Bases) -> Answered {
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

fn windows(state: &State, now: Moment, bases: &mut Bases) -> Vec<WindowTold> {
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
fn outcome(run: &Run<'_>, again: Option<Moment>, now: Moment) -> (&'static str, String) {
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

fn defects(state: &State) -> Vec<DefectTold> {
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

fn holds(state: &State) -> Vec<HoldTold> {
    let told = |(_, _, hold): (usize, usize, HoldStatus)| HoldTold {
        state: hold.state.word(),
        entry: hold.entry.as_ref().map(EntryId::to_string),
        key: hold.key,
        title: hold.title,
        subject: hold.subject,
        roles: hold.roles,
        person: hold.person,
        role: hold.role,
        at: hold.at,
        how: hold.how,
        evidence: hold.evidence,
        asked_at: hold.asked_at,
    };
    state.holds().into_iter().map(told).collect()
}

fn readings(state: &State) -> Vec<ReadingTold> {
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
            });
        }
    }
    told
}

fn late(book: &Book) -> Vec<LateTold> {
    let told = |entry: &&Entry| LateTold {
        entry: entry.id().to_string(),
        happened_at: entry.happened_at,
        recorded_at: entry.recorded_at,
        by: entry.by.clone(),
        what: entry.body.in_words(),
    };
    book.in_time().iter().filter(|entry| entry.is_late()).map(told).collect()
}

fn struck(book: &Book) -> Vec<StruckTold> {
    let told = |entry: &Entry| {
        let by = book.entry(book.state.struck.get(&entry.id())?)?;
        let Body::Struck(strike) = &by.body else { return None };
        Some(StruckTold {
            entry: entry.id().to_string(),
            happened_at: entry.happened_at,
            late: entry.is_late(),
            what: entry.body.in_words(),
            struck_by: by.id().to_string(),
            struck_at: by.happened_at,
            by: by.by.clone(),
            why: strike.why.clone(),
        })
    };
    book.entries.iter().filter_map(told).collect()
}

fn people(state: &State) -> Vec<PersonTold> {
    let told = |person: &crate::building::Person| PersonTold {
        name: person.name.clone(),
        roles: person.roles.clone(),
        // Not -0 for those who worked none.
        hours: state.days.iter().filter_map(|day| day.hours.get(&person.name)).fold(0.0, |sum, hours| sum + hours),
    };
    state.job.people.iter().map(told).collect()
}

fn days(state: &State) -> Vec<DayWorked> {
    let told = |day: &crate::day::Day| {
        let mut crew: Vec<OnSite> = day
            .crew
            .iter()
            .map(|(name, since)| OnSite { name: name.clone(), since: *since, hours: day.hours.get(name).copied() })
            .collect();
        let others = day.hours.iter().filter(|(name, _)| day.crew.iter().all(|(known, _)| known != *name));
        crew.extend(others.map(|(name, hours)| OnSite {
            name: name.clone(),
            since: day.opened_at,
            hours: Some(*hours),
        }));
        DayWorked {
            date: day.date.to_string(),
            opened_at: day.opened_at,
            closed_at: day.closed_at,
            crew,
            talk: day.talk.clone(),
            hazards: day.hazards.clone(),
            note: day.note.clone(),
        }
    };
    state.days.iter().map(told).collect()
}

fn cautions(state: &State) -> Vec<Acknowledged> {
    let mut told = Vec::new();
    for day in &state.days {
        let all = day.acknowledged.iter().flat_map(|(caution, by)| by.iter().map(move |(who, at)| (caution, who, at)));
        for (caution, person, at) in all {
            let title = state
                .editions
                .iter()
                .rev()
                .find_map(|edition| edition.caution(caution).map(|index| edition.cautions[index].title.clone()));
            told.push(Acknowledged {
                date: day.date.to_string(),
                caution: caution.clone(),
                title: title.unwrap_or_else(|| caution.clone()),
                person: person.clone(),
                at: *at,
            });
        }
    }
    told
}

fn papers(state: &State) -> Vec<HeldPaper> {
    let held = |key: &str| state.job.papers.iter().find(|paper| paper.key == key);
    let documents = &state.sequence().documents;
    let mut told: Vec<HeldPaper> = documents
        .iter()
        .map(|document| HeldPaper {
            key: document.key.clone(),
            asked: document.title.clone(),
            held: held(&document.key).map(|paper| paper.title.clone()),
        })
        .collect();
    let others = state.job.papers.iter().filter(|paper| documents.iter().all(|document| document.key != paper.key));
    told.extend(others.map(|paper| HeldPaper {
        key: paper.key.clone(),
        asked: String::new(),
        held: Some(paper.title.clone()),
    }));
    told
}

fn log(book: &Book) -> Vec<Logged> {
    let told = |entry: &Entry| Logged {
        id: entry.id().to_string(),
        happened_at: entry.happened_at,
        recorded_at: entry.recorded_at,
        by: entry.by.clone(),
        kind: entry.body.kind().to_owned(),
        subject: entry.body.subject().to_owned(),
        what: entry.body.in_words(),
        late: entry.is_late(),
        struck_by: book.state.struck.get(&entry.id()).map(EntryId::to_string),
        hash: entry.hash.clone(),
    };
    book.entries.iter().map(told).collect()
}

/// What a reader should know besides what is missing.
fn remarks(state: &State, now: Moment) -> Vec<String> {
    let mut remarks = Vec::new();
    let documents = &state.sequence().documents;
    let lacking: Vec<&str> = documents
        .iter()
        .filter(|document| state.job.papers.iter().all(|paper| paper.key != document.key))
        .map(|document| document.title.as_str())
        .collect();
    if !lacking.is_empty() {
        remarks.push(format!("The job lists no copy of: {}.", lacking.join("; ")));
    }
    for day in state.days.iter().filter(|day| day.closed_at.is_none()) {
        remarks.push(format!(
            "The site day of {} is not closed: its hours are not in this pack.",
            day.date.format("%-d %b %Y")
        ));
    }
    for run in state.runs().iter().filter(|run| run.phase(now) != Phase::Lapsed) {
        if let Some(closes) = run.closes_at {
            let subject = state.subjects.get(run.subject);
            remarks.push(format!("A clock runs on {subject}: {}, closes {}.", run.window.title, when(&closes)));
        }
    }
    remarks.into_iter().map(|remark| visible(&remark)).collect()
}

fn summary(state: &State, now: Moment, steps: &[StepTold], windows: &[WindowTold], log: &[Logged]) -> Summary {
    let work: Vec<(usize, usize)> = state.work().collect();
    let holds = state.holds();
    let defects = |wanted: DefectState| state.defects.iter().filter(|defect| defect.state == wanted).count();
    let run = |words: &[&str]| windows.iter().filter(|window| words.contains(&window.state)).count();
    let measured = || steps.iter().flat_map(|step| &step.answers).filter(|answer| answer.value.is_some());
    Summary {
        steps_asked: work.len(),
        steps_complete: work.iter().filter(|(step, subject)| state.complete(*step, *subject, now)).count(),
        holds: holds.len(),
        holds_released: holds.iter().filter(|(_, _, hold)| hold.state == HoldState::Released).count(),
        defects: state.defects.len(),
        defects_open: defects(DefectState::Open),
        defects_closed: defects(DefectState::Closed),
        defects_conceded: defects(DefectState::Conceded),
        windows: windows.len(),
        windows_met: run(&["met"]),
        windows_broken: run(&["early", "late"]),
        windows_lapsed: run(&["lapsed", "again"]),
        windows_running: run(&["running"]),
        measurements: measured().filter(|answer| answer.within.is_some()).count(),
        measurements_out: measured().filter(|answer| answer.within == Some(false)).count(),
        entries: log.len(),
        late: log.iter().filter(|entry| entry.late && entry.struck_by.is_none()).count(),
        struck: log.iter().filter(|entry| entry.struck_by.is_some()).count(),
        hours: state.days.iter().flat_map(|day| day.hours.values()).fold(0.0, |sum, hours| sum + hours),
    }
}
