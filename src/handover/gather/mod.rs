//! From a job's record to the [`Document`].

mod ahead;
mod album;
mod costs;
mod evening;
mod materials;
mod missing;
mod people;
mod photos;
mod sealing;
mod set_out;
mod work;

pub use album::{Album, NoOriginals, Originals, PhotoState};

use missing::missing;

use super::model::{
    Costs, Document, Edition, JobFacts, LateTold, Logged, Materials, Ordered, Part, StepTold, StruckTold, Summary,
    WindowTold, when,
};
use crate::building::Subject;
use crate::day::{Book, DefectState, HoldState, Phase, State};
use crate::digest::sha256_hex;
use crate::moment::Moment;
use crate::plain::visible;
use crate::record::{Body, Entry, EntryId, forks, jsonl};
use crate::sequence::{Basis, EditionChange, Sequence};

impl Document {
    /// Gathers what a job's record says at a moment, without a look at its photos.
    pub fn of(book: &Book, made_at: Moment) -> Self {
        Self::with(book, made_at, &Album::default(), None)
    }

    /// Gathers what a job's record says at a moment, with its photos, for a pack signed by a key.
    pub fn with(book: &Book, made_at: Moment, album: &Album, key: Option<String>) -> Self {
        let state = &book.state;
        let mut bases = Bases::default();
        let defects = work::defects(state);
        let steps = work::steps(book, &defects, &mut bases);
        let windows = work::windows(state, made_at, &mut bases);
        let photos = photos::told(book, album);
        let mut missing = missing(state, made_at);
        missing.extend(photos::missing(&photos));
        let log = log(book);
        Self {
            program: env!("CARGO_PKG_VERSION").to_owned(),
            made_at,
            rehearsal: state.rehearsal,
            complete: missing.is_empty(),
            withheld: 0,
            job: job_facts(book),
            remarks: remarks(state, made_at).into_iter().chain(forked(book)).collect(),
            summary: summary(state, made_at, &steps, &windows, &log),
            missing,
            holds: work::holds(state),
            parts: parts(state),
            photos,
            no_places: album.no_places,
            key,
            readings: work::readings(state),
            late: late(book),
            struck: struck(book),
            people: people::people(state),
            days: people::days(state),
            cautions: people::cautions(state),
            costs: Costs::of(book, made_at),
            papers: people::papers(state),
            materials: Materials::of(state, made_at),
            ordered: Ordered::of(state),
            not_understood: state.not_understood.iter().map(EntryId::to_string).collect(),
            care: state.sequence().care.clone(),
            record_sha256: sha256_hex(jsonl(&book.entries).as_bytes()),
            joints: sealing::joints(state, &windows),
            seal_plans: sealing::plans(state, made_at),
            forecasts: sealing::forecasts(book),
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
pub fn part_of(subject: &Subject) -> String {
    match subject {
        Subject::Corner(key) => key.clone(),
        other => other.wall().unwrap_or("job").to_owned(),
    }
}

pub fn part_of_id(state: &State, id: &str) -> String {
    state.subjects.index(id).map_or_else(|| "job".to_owned(), |index| part_of(state.subjects.get(index)))
}

pub fn job_facts(book: &Book) -> JobFacts {
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
        changes: state
            .adoptions
            .iter()
            .filter(|adoption| adoption.entry == entry.id())
            .flat_map(|adoption| adoption.changes.iter().map(EditionChange::in_words))
            .collect(),
        edited: sequence.edited_in_words(),
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

pub fn parts(state: &State) -> Vec<Part> {
    let job = Part { key: "job".to_owned(), title: "The whole building".to_owned(), wall: None, set_out: None };
    let walls = state.job.walls.iter().map(|wall| Part {
        key: wall.key.clone(),
        title: if wall.name == wall.key {
            format!("Wall {}", wall.key)
        } else {
            format!("Wall {}: {}", wall.key, wall.name)
        },
        wall: Some(wall.clone()),
        set_out: set_out::of(state, wall),
    });
    let corners = state.job.corners.iter().map(|corner| Part {
        key: corner.key.clone(),
        title: format!("Corner {}: {}, walls {}", corner.key, corner.kind, corner.walls.join(" and ")),
        wall: None,
        set_out: None,
    });
    std::iter::once(job).chain(walls).chain(corners).collect()
}

pub fn late(book: &Book) -> Vec<LateTold> {
    let told = |entry: &&Entry| LateTold {
        entry: entry.id().to_string(),
        happened_at: entry.happened_at,
        recorded_at: entry.recorded_at,
        by: entry.by.clone(),
        what: entry.body.in_words(),
    };
    book.in_time().iter().filter(|entry| entry.is_late()).map(told).collect()
}

pub fn struck(book: &Book) -> Vec<StruckTold> {
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

pub fn log(book: &Book) -> Vec<Logged> {
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

/// A sentence for each tail of a book that two files went on with.
fn forked(book: &Book) -> impl Iterator<Item = String> {
    forks(&book.entries).into_iter().map(|fork| format!("In the record {}.", fork.in_words()))
}

/// What a reader should know besides what is missing.
pub fn remarks(state: &State, now: Moment) -> Vec<String> {
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

pub fn summary(state: &State, now: Moment, steps: &[StepTold], windows: &[WindowTold], log: &[Logged]) -> Summary {
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
