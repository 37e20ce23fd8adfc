//! The document: everything that the pack says, as one value; and the evening report.

mod album;
mod blob;
mod confirmation;
mod covered;
mod evening;
mod materials;
mod number;
mod reservation;
mod sealing;
mod words;
mod work;

pub mod paths;

pub use album::{Album, Locations, Photo, PhotoState, Picture, large_of, of_part};
pub use blob::{Blob, Reader};
pub use confirmation::Confirmation;
pub use covered::{Covered, covered, covers_work};
pub use evening::{Ahead, Evening, ForBuilder, HoldOfDay, Measured, StepOfDay, Weather, Worked};
pub use materials::{Materials, Trace};
pub use number::Number;
pub use reservation::{More, Reservation, ReservationKind};
pub use sealing::{JointRun, NearestReading, PlanOfDay, dew_point_c, tenth, values};
pub use words::{NOT_NAMED, clock_on, day_span, ends_on, when};
pub use work::{Outcome, Step, WindowRun};

use std::collections::HashMap;
use std::sync::Arc;

use chrono::NaiveDate;
use serde::Serialize;

use crate::accounts::{ClaimLine, StoppageRow};
use crate::building::{Subject, Wall};
use crate::day::{Book, Defect, HoldStatus, StampRow, State};
use crate::moment::Moment;
use crate::record::{Cause, DefectId, EntryId};
use crate::refusal::Rule;
use crate::sequence::{Basis, EditionChange, Sequence};
use crate::setout::drawing::Elevation;

/// Everything that the pack says: the record, and what the pack works out of it. Lists are in the order in which they are
/// printed.
#[derive(Debug)]
pub struct Document<'b> {
    /// The record.
    pub book: &'b Book,
    /// The moment that it speaks of.
    pub made_at: Moment,
    /// How many people's names are withheld; zero in a pack.
    pub withheld: usize,
    /// What is missing, what matters most first.
    pub missing: Vec<Missing>,
    /// What was typed in the name of others, in the order in which it happened, and how far they stand behind it.
    pub confirmations: Vec<Confirmation>,
    /// What whoever accepts the work should know before they sign, those first that would cost them most.
    pub reservations: Vec<Reservation>,
    /// The time stamps that the record keeps, in the order in which they were taken.
    pub stamps: Vec<StampRow>,
    /// The sequences that the job was built by, the first one first.
    pub editions: Vec<Edition<'b>>,
    /// Hold points, those that an edition dropped last.
    pub holds: Vec<HoldStatus>,
    /// Every defect with its number, open ones first, with how far whoever ended it stands behind that.
    pub defects: Vec<(usize, Defect)>,
    /// The number of each.
    pub defect_numbers: HashMap<&'b DefectId, usize>,
    /// The whole building, each wall, each corner.
    pub parts: Vec<Part<'b>>,
    /// Steps done, in the order in which they happened.
    pub steps: Vec<Step<'b>>,
    /// Photos, in the order in which what they show happened.
    pub photos: Vec<Photo<'b>>,
    /// Whether the photos of the pack say where they were taken.
    pub locations: Locations,
    /// The fingerprint of the key that signs the pack.
    pub key: Option<String>,
    /// Every run of every window.
    pub windows: Vec<WindowRun<'b>>,
    /// Every priming of every joint, with the weather that it was sealed in.
    pub joints: Vec<JointRun<'b>>,
    /// The seal plans that were kept.
    pub seal_plans: Vec<PlanOfDay<'b>>,
    /// Stoppages, and what each cost.
    pub stoppages: Vec<StoppageRow>,
    /// Crew-hours lost to them; time that two of them share is counted once.
    pub crew_hours_lost: f64,
    /// What is complete, by part of the building and stage.
    pub quantities: Vec<ClaimLine>,
    /// Batches, where each is, what was ordered and cut.
    pub materials: Materials,
    /// Papers that the sequence asks for, listed on the job or not, and those that it lists besides.
    pub papers: Vec<Paper<'b>>,
    /// What the tolerances and times rest on, each once.
    pub bases: Vec<&'b Basis>,
    /// record.jsonl.
    pub record: Arc<[u8]>,
    /// Its SHA-256, lower-case hex.
    pub record_sha256: String,
}

impl<'b> Document<'b> {
    /// What the record comes to.
    pub fn state(&self) -> &'b State {
        &self.book.state
    }

    /// Whether nothing is missing.
    pub fn is_complete(&self) -> bool {
        self.missing.is_empty()
    }

    /// Whether something was written under a rehearsal clock: nothing in it is evidence.
    pub fn is_rehearsal(&self) -> bool {
        self.state().rehearsal
    }

    /// Each wall with its number, from 1, and its part.
    pub fn walls(&self) -> impl Iterator<Item = (usize, &'b Wall, &Part<'b>)> {
        let walls = self.parts.iter().filter_map(|part| Some((part.wall?, part)));
        (1..).zip(walls).map(|(number, (wall, part))| (number, wall, part))
    }

    /// The number of a basis among [`Self::bases`], from 1.
    pub fn basis(&self, basis: &Basis) -> Option<usize> {
        Some(self.bases.iter().position(|known| *known == basis)? + 1)
    }

    /// Cautions acknowledged, day by day.
    pub fn acknowledged(&self) -> Vec<Acknowledged<'b>> {
        let editions = || self.state().editions.iter().rev();
        let mut all = Vec::new();
        for day in &self.state().days {
            for (caution, by) in &day.acknowledged {
                let title = editions().find_map(|one| Some(one.cautions[one.caution(caution)?].title.as_str()));
                let title = title.unwrap_or(caution);
                all.extend(by.iter().map(|(person, at)| Acknowledged {
                    date: day.date,
                    caution,
                    title,
                    person,
                    at: *at,
                }));
            }
        }
        all
    }

    /// "D3, closed".
    pub fn defect_in_words(&self, id: &DefectId) -> Option<String> {
        let number = *self.defect_numbers.get(id)?;
        Some(format!("{}, {}", Number::Defect(number), self.state().defects[number - 1].state.word()))
    }
}

/// What is wrong, for people: a refused release by the title of its hold point, where the record has the key.
pub fn what_is_wrong(state: &State, defect: &Defect) -> String {
    let title = |key: &str| Some(&state.sequence().holds[state.sequence().hold(key)?].title);
    match &defect.id.cause {
        Cause::Rule(Rule::HoldPoint, key) => match (defect.what.strip_prefix(key.as_str()), title(key)) {
            (Some(refused), Some(title)) => format!("'{title}'{refused}"),
            _ => defect.what.clone(),
        },
        _ => defect.what.clone(),
    }
}

/// A caution that a person acknowledged.
#[derive(Debug, Clone, Copy)]
pub struct Acknowledged<'b> {
    /// The date of the site day.
    pub date: NaiveDate,
    /// Key of the caution.
    pub caution: &'b str,
    /// The hazard.
    pub title: &'b str,
    /// Who.
    pub person: &'b str,
    /// When.
    pub at: Moment,
}

/// The part of the building under which a subject is listed: `job`, a wall or a corner.
pub fn part_of(subject: &Subject) -> &str {
    match subject {
        Subject::Corner(key) => key,
        other => other.wall().unwrap_or("job"),
    }
}

/// The part of the building of a subject as the record names it.
pub fn part_of_id<'s>(state: &'s State, id: &str) -> &'s str {
    state.subjects.index(id).map_or("job", |index| part_of(state.subjects.get(index)))
}

/// A sequence that the job was built by.
#[derive(Debug)]
pub struct Edition<'b> {
    /// The entry that brought it in.
    pub entry: EntryId,
    /// The sequence.
    pub sequence: &'b Sequence,
    /// In force since.
    pub since: Moment,
    /// Why it was adopted; absent for the first.
    pub why: Option<&'b str>,
    /// What it changed: every number, hold point and window that differs from the one before.
    pub changes: &'b [EditionChange],
}

/// Something that is missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// What kind of thing.
    #[serde(rename = "sort")]
    pub kind: MissingKind,
    /// Where: subjects, written short.
    pub on: String,
    /// What.
    pub what: String,
    /// Where it stands.
    #[serde(rename = "stands")]
    pub status: String,
}

/// A kind of thing that may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum MissingKind {
    /// A defect is open.
    Defect,
    /// A hold point is not released.
    Hold,
    /// A step is not done.
    Step,
    /// A photo is not there.
    Photo,
    /// An entry is not understood.
    Entry,
}

/// A part of the building with a heading of its own.
#[derive(Debug)]
pub struct Part<'b> {
    /// Id of the subject: `job`, a wall, a corner.
    pub key: &'b str,
    /// Heading.
    pub title: String,
    /// The wall as the job gives it.
    pub wall: Option<&'b Wall>,
    /// The wall as it is drawn.
    pub drawn: Option<Elevation>,
}

/// A paper that the sequence asks for, or that the job lists besides.
#[derive(Debug, Clone, Copy)]
pub struct Paper<'b> {
    /// What is asked for; the key of a paper that is not asked for.
    pub asked: &'b str,
    /// The title under which the job lists it; absent when it does not.
    pub held: Option<&'b str>,
}
