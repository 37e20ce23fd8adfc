//! From a job's record to the [`Document`].

mod ahead;
mod album;
mod as_built;
mod confirmations;
mod costs;
mod evening;
mod for_builder;
mod materials;
mod missing;
mod photos;
mod reservations;
mod sealing;
mod work;

pub use album::{NoOriginals, Originals};
pub use as_built::{Letters, as_built};
pub(in crate::handover) use confirmations::grade_holds;
pub use confirmations::{confirmations, grade_defects, graded_holds};
pub use missing::missing;

use self::reservations::Facts;
use super::model::{Album, Confirmation, Document, Edition, Paper, Part, Photo, Step, WindowRun, what_is_wrong};
use crate::day::{Book, Defect, State, holds_listed, stamps};
use crate::digest::sha256_hex;
use crate::moment::Moment;
use crate::record::{Body, Entry, jsonl};
use crate::sequence::Basis;
use crate::setout::drawing::Elevation;

impl<'b> Document<'b> {
    /// Gathers what a job's record says at a moment, with its photos, for a pack signed by a key.
    pub fn of(book: &'b Book, made_at: Moment, album: &'b Album, key: Option<String>) -> Self {
        let state = &book.state;
        let steps = work::steps(book);
        let windows = work::windows(state, made_at);
        let photos = photos::photos_of(book, album);
        let mut missing = missing(state, made_at);
        missing.extend(photos::missing(&photos));
        let (stoppages, crew_hours_lost) = costs::stoppages(state, made_at);
        let record = jsonl(&book.entries).into_bytes();
        let (confirmations, materials) = (confirmations(book), materials::materials(state, made_at));
        let defects = defects(state, &confirmations);
        let mut holds = holds_listed(state);
        grade_holds(&mut holds, &confirmations);
        let facts = Facts {
            book,
            now: made_at,
            steps: &steps,
            windows: &windows,
            photos: &photos,
            materials: &materials,
            holds: &holds,
            defects: &defects,
            confirmations: &confirmations,
        };
        let reservations = reservations::reservations(&facts);
        Self {
            book,
            made_at,
            withheld: 0,
            missing,
            confirmations,
            reservations,
            stamps: stamps(book).0,
            editions: editions(book),
            holds,
            defects,
            defect_numbers: state.defects.iter().map(|defect| &defect.id).zip(1..).collect(),
            parts: parts(state, &photos),
            photos,
            locations: album.locations,
            key,
            joints: sealing::joints(state, &windows),
            seal_plans: sealing::plans(state),
            stoppages,
            crew_hours_lost,
            quantities: costs::quantities(book, made_at),
            materials,
            papers: papers(state),
            bases: bases(&steps, &windows),
            record_sha256: sha256_hex(&record),
            record: record.into(),
            steps,
            windows,
        }
    }
}

/// The defects of a record with their numbers, open ones first, as the pages word and grade them.
fn defects(state: &State, confirmations: &[Confirmation]) -> Vec<(usize, Defect)> {
    let mut defects = state.defects.clone();
    defects.iter_mut().for_each(|defect| defect.what = what_is_wrong(state, defect));
    grade_defects(&mut defects, confirmations);
    let mut numbered: Vec<(usize, Defect)> = (1..).zip(defects).collect();
    numbered.sort_by_key(|(_, defect)| defect.state);
    numbered
}

/// What answers and windows rest on, each once, in the order in which they are first named.
fn bases<'b>(steps: &[Step<'b>], windows: &[WindowRun<'b>]) -> Vec<&'b Basis> {
    let answers = steps.iter().flat_map(|step| step.answers).filter_map(|judged| judged.ask.basis.as_ref());
    let mut bases: Vec<&Basis> = Vec::new();
    for basis in answers.chain(windows.iter().map(|window| &window.run.window.basis)) {
        if !bases.contains(&basis) {
            bases.push(basis);
        }
    }
    bases
}

fn editions(book: &Book) -> Vec<Edition<'_>> {
    let state = &book.state;
    let mut adopted: Vec<(&Entry, Option<&str>)> = book
        .entries
        .iter()
        .filter(|entry| !state.struck.contains_key(&entry.id()) || matches!(entry.body, Body::JobAdded(_)))
        .filter_map(|entry| match &entry.body {
            Body::JobAdded(_) => Some((entry, None)),
            Body::SequenceAdopted(it) => Some((entry, Some(it.why.as_str()))),
            _ => None,
        })
        .collect();
    adopted.sort_by_key(|(entry, why)| (why.is_some(), entry.recorded_at, entry.causal_rank()));
    let editions = state.editions.iter().zip(adopted);
    editions
        .map(|(sequence, (entry, why))| {
            let adoption = state.adoptions.iter().find(|adoption| adoption.entry == entry.id());
            Edition {
                entry: entry.id(),
                sequence,
                since: if why.is_some() { entry.recorded_at } else { entry.happened_at },
                why,
                changes: adoption.map_or(&[], |adoption| &adoption.changes),
            }
        })
        .collect()
}

fn parts<'b>(state: &'b State, photos: &[Photo<'_>]) -> Vec<Part<'b>> {
    let letters = Letters::of(state);
    let job = Part { key: "job", title: "The whole building".to_owned(), wall: None, drawn: None };
    let walls = state.job.walls.iter().map(|wall| Part {
        key: &wall.key,
        title: if wall.name == wall.key {
            format!("Wall {}", wall.key)
        } else {
            format!("Wall {}: {}", wall.key, wall.name)
        },
        wall: Some(wall),
        // Whether a stud that the framer was to add stands is not recorded: it is on no drawing of what was built.
        drawn: Some(Elevation { add_studs_mm: Vec::new(), ..as_built(state, wall, &letters, photos) }),
    });
    let corners = state.job.corners.iter().map(|corner| Part {
        key: &corner.key,
        title: format!("Corner {}: {}, walls {}", corner.key, corner.kind, corner.walls.join(" and ")),
        wall: None,
        drawn: None,
    });
    std::iter::once(job).chain(walls).chain(corners).collect()
}

/// The papers that the sequence asks for, then those that the job lists besides.
fn papers(state: &State) -> Vec<Paper<'_>> {
    let documents = &state.sequence().documents;
    let listed = &state.job.papers;
    let held = |key: &str| listed.iter().find(|paper| paper.key == key).map(|paper| paper.title.as_str());
    let others = listed.iter().filter(|paper| documents.iter().all(|document| document.key != paper.key));
    documents
        .iter()
        .map(|document| Paper { asked: &document.title, held: held(&document.key) })
        .chain(others.map(|paper| Paper { asked: &paper.key, held: Some(&paper.title) }))
        .collect()
}
