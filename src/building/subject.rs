//! Subjects: what a step is done to, how it is written, and what belongs to what.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use serde::{Deserialize, Serialize};

use super::job::Job;
use crate::form::nearest;
use crate::index::{Indexed, Ix};
use crate::units::number::shortened;

/// The kinds of subject.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    strum::Display,
    strum::EnumString,
    strum::VariantNames,
)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum SubjectKind {
    /// The whole job.
    Job,
    /// A wall.
    Wall,
    /// An opening of a wall.
    Opening,
    /// A corner between walls.
    Corner,
    /// A movement joint of a wall.
    Joint,
    /// A course of a wall.
    Course,
}

impl SubjectKind {
    /// The word with its article, for messages.
    pub fn a_word(self) -> &'static str {
        match self {
            Self::Job => "the whole job",
            Self::Wall => "a wall",
            Self::Opening => "an opening",
            Self::Corner => "a corner",
            Self::Joint => "a joint",
            Self::Course => "a course",
        }
    }
}

/// What a step is done to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The whole job: `job`.
    Job,
    /// A wall by its key: `N`.
    Wall(String),
    /// An opening: `N/O1`.
    Opening {
        /// Its wall.
        wall: String,
        /// Its key.
        key: String,
    },
    /// A corner by its key: `NE`.
    Corner(String),
    /// A joint: `N/J2`.
    Joint {
        /// Its wall.
        wall: String,
        /// Counted from 1 at the left end.
        number: u32,
    },
    /// A course: `N/C3`.
    Course {
        /// Its wall.
        wall: String,
        /// Counted from 1 at the bottom.
        number: u32,
    },
}

impl Subject {
    /// Its kind.
    pub fn kind(&self) -> SubjectKind {
        match self {
            Self::Job => SubjectKind::Job,
            Self::Wall(_) => SubjectKind::Wall,
            Self::Opening { .. } => SubjectKind::Opening,
            Self::Corner(_) => SubjectKind::Corner,
            Self::Joint { .. } => SubjectKind::Joint,
            Self::Course { .. } => SubjectKind::Course,
        }
    }

    /// The wall that it is or is part of; corners and the job have none.
    pub fn wall(&self) -> Option<&str> {
        match self {
            Self::Wall(wall) | Self::Opening { wall, .. } | Self::Joint { wall, .. } | Self::Course { wall, .. } => {
                Some(wall)
            }
            Self::Job | Self::Corner(_) => None,
        }
    }

    /// Its number in a row of its like, for joints and courses.
    pub fn number(&self) -> Option<u32> {
        match self {
            Self::Joint { number, .. } | Self::Course { number, .. } => Some(*number),
            _ => None,
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Job => f.write_str("job"),
            Self::Wall(key) | Self::Corner(key) => f.write_str(key),
            Self::Opening { wall, key } => write!(f, "{wall}/{key}"),
            Self::Joint { wall, number } => write!(f, "{wall}/J{number}"),
            Self::Course { wall, number } => write!(f, "{wall}/C{number}"),
        }
    }
}

/// A subject behind what was done to it: " on N/J2"; nothing for the job, which has no key that one would say.
pub fn on_words(subject: &str) -> String {
    if subject == "job" { String::new() } else { format!(" on {subject}") }
}

impl Job {
    /// Every subject of the job, with what belongs to what.
    pub fn subjects(&self) -> Subjects {
        Subjects::of(self)
    }

    /// Whether an opening or a corner is left unsealed, as the drawings have it.
    pub fn is_dry(&self, subject: &Subject) -> bool {
        match subject {
            Subject::Opening { wall, key } => {
                let wall = self.wall(wall);
                wall.is_some_and(|wall| wall.openings.iter().any(|opening| opening.key == *key && opening.dry))
            }
            Subject::Corner(key) => self.corners.iter().any(|corner| corner.key == *key && corner.dry),
            _ => false,
        }
    }

    /// What an opening or a corner is ("window", "metal"); empty for the rest.
    pub fn kind_of(&self, subject: &Subject) -> &'static str {
        match subject {
            Subject::Opening { wall, key } => self
                .wall(wall)
                .and_then(|wall| wall.openings.iter().find(|opening| &opening.key == key))
                .map_or("", |opening| opening.kind.into()),
            Subject::Corner(key) => {
                self.corners.iter().find(|corner| &corner.key == key).map_or("", |corner| corner.kind.into())
            }
            _ => "",
        }
    }
}

/// Why a SUBJECT on the command line was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SubjectError {
    /// Nothing of that id on the job.
    #[error("there is no '{id}' on job {job}{hint}")]
    Unknown {
        /// What was typed.
        id: String,
        /// The job's key.
        job: String,
        /// A near one, or the list.
        hint: String,
    },
    /// A range whose end is before its start, or whose ends are not alike.
    #[error("'{0}' is not a valid range: write N/J1..6, lowest number first")]
    Range(String),
    /// Nothing typed.
    #[error(
        "a subject is needed: a wall (N), a joint (N/J2), a course (N/C3), an opening (N/O1), a corner (NE) or job"
    )]
    Empty,
}

/// The index of a subject in its job.
pub type SubjectIx = Ix<Subject>;

/// Every subject of a job, in the order of the building, with its index.
#[derive(Debug, Clone)]
pub struct Subjects {
    job: String,
    list: Indexed<Subject>,
    by_id: BTreeMap<String, SubjectIx>,
    /// Each index in its own place, so that a slice of one can be lent.
    itself: Indexed<Subject, SubjectIx>,
    /// For each subject the walls that it touches: its own, or the two of a corner.
    walls: Indexed<Subject, Vec<SubjectIx>>,
    /// Every wall.
    all_walls: Vec<SubjectIx>,
    /// For each subject the one that its parts are listed under: its wall, which they are the same for, or itself.
    listed_under: Indexed<Subject, SubjectIx>,
    /// For the job, walls and corners, those that lie on the walls it touches, by kind.
    parts: Indexed<Subject, BTreeMap<SubjectKind, Vec<SubjectIx>>>,
}

impl Subjects {
    /// The index of the job itself.
    pub const JOB: SubjectIx = Ix::FIRST;

    /// The subjects given, and with a wall what stands on it: its openings, joints and courses, and the corners at its ends.
    pub fn with_parts(&self, given: &[SubjectIx]) -> BTreeSet<SubjectIx> {
        let given: BTreeSet<SubjectIx> = given.iter().copied().collect();
        let belongs =
            |index: &SubjectIx| given.contains(index) || self.walls_of(*index).iter().any(|wall| given.contains(wall));
        self.indexes().filter(belongs).collect()
    }

    /// Lists the subjects of a job.
    pub fn of(job: &Job) -> Self {
        let mut list = vec![Subject::Job];
        for wall in &job.walls {
            list.push(Subject::Wall(wall.key.clone()));
        }
        list.extend(job.corners.iter().map(|corner| Subject::Corner(corner.key.clone())));
        for wall in &job.walls {
            let key = &wall.key;
            list.extend(
                wall.openings.iter().map(|opening| Subject::Opening { wall: key.clone(), key: opening.key.clone() }),
            );
            list.extend((1..=wall.courses).map(|number| Subject::Course { wall: key.clone(), number }));
            list.extend((1..=wall.joints.len() as u32).map(|number| Subject::Joint { wall: key.clone(), number }));
        }
        let list = Indexed::from(list);
        // Whatever else a record from elsewhere calls `job` or as one before it, the first keeps the id.
        let mut by_id: BTreeMap<String, SubjectIx> = BTreeMap::new();
        for (at, subject) in list.indexed() {
            by_id.entry(subject.to_string()).or_insert(at);
        }
        let walls: Indexed<Subject, Vec<SubjectIx>> = list
            .iter()
            .map(|subject| {
                let keys: Vec<&str> = match subject {
                    Subject::Corner(key) => job
                        .corners
                        .iter()
                        .find(|corner| &corner.key == key)
                        .map(|corner| corner.walls.iter().map(String::as_str).collect())
                        .unwrap_or_default(),
                    other => other.wall().into_iter().collect(),
                };
                keys.iter().filter_map(|key| by_id.get(*key).copied()).collect()
            })
            .collect();
        // What lies on each wall, in the order of the building.
        let mut on_wall: Indexed<Subject, Vec<SubjectIx>> = vec![Vec::new(); list.len()].into();
        for (other, walls) in walls.indexed() {
            walls.iter().for_each(|wall| on_wall[*wall].push(other));
        }
        let under = |(at, walls): (SubjectIx, &Vec<SubjectIx>)| if let [wall] = walls.as_slice() { *wall } else { at };
        let listed_under: Indexed<Subject, SubjectIx> = walls.indexed().map(under).collect();
        let parts = list
            .indexes()
            .map(|at| {
                if listed_under[at] != at {
                    return BTreeMap::new();
                }
                let mut others: Vec<SubjectIx> = match &list[at] {
                    Subject::Job => list.indexes().collect(),
                    // The job comes first in the list, and every part belongs to it.
                    _ => std::iter::once(Self::JOB)
                        .chain(walls[at].iter().flat_map(|wall| &on_wall[*wall]).copied())
                        .collect(),
                };
                others.sort_unstable();
                others.dedup();
                let mut parts: BTreeMap<SubjectKind, Vec<SubjectIx>> = BTreeMap::new();
                for other in others {
                    parts.entry(list[other].kind()).or_default().push(other);
                }
                parts
            })
            .collect();
        let is_wall = |at: &SubjectIx| matches!(list[*at], Subject::Wall(_));
        let all_walls = list.indexes().filter(is_wall).collect();
        let itself = list.indexes().collect();
        Self { job: job.key.clone(), itself, list, by_id, walls, all_walls, listed_under, parts }
    }

    /// All of them.
    pub fn all(&self) -> &Indexed<Subject> {
        &self.list
    }

    /// Every index, in the order of the building.
    pub fn indexes(&self) -> impl DoubleEndedIterator<Item = SubjectIx> + Clone + use<> {
        self.list.indexes()
    }

    /// The subject at an index.
    pub fn get(&self, index: SubjectIx) -> &Subject {
        &self.list[index]
    }

    /// The index of an id such as `N/J2`.
    pub fn index(&self, id: &str) -> Option<SubjectIx> {
        self.by_id.get(id).copied()
    }

    /// The indexes of the walls that a subject touches.
    pub fn walls_of(&self, index: SubjectIx) -> &[SubjectIx] {
        &self.walls[index]
    }

    /// The walls whose weather a subject stands in: its own, both of a corner, every wall for the job.
    pub fn exposed_walls(&self, index: SubjectIx) -> &[SubjectIx] {
        if index == Self::JOB { &self.all_walls } else { &self.walls[index] }
    }

    /// The indexes of all walls, in the order of the building.
    pub fn all_walls(&self) -> &[SubjectIx] {
        &self.all_walls
    }

    /// The courses or joints of the same wall with a lower number, the nearest first; none for other subjects.
    pub fn lower(&self, index: SubjectIx) -> impl Iterator<Item = SubjectIx> + use<> {
        // Those of a wall follow one another in the list.
        let number = self.list[index].number().unwrap_or(1) as usize;
        (1..number).map(move |down| Ix::at(index.place() - down))
    }

    /// The subjects of `kind` that matter to the one at `index`.
    ///
    /// Itself when it is of that kind; else the job, the wall it belongs to, or all those of that
    /// kind that lie on the walls it touches.
    pub fn related(&self, index: SubjectIx, kind: SubjectKind) -> &[SubjectIx] {
        if self.list[index].kind() == kind {
            return std::slice::from_ref(&self.itself[index]);
        }
        if kind == SubjectKind::Wall && self.list[index] != Subject::Job {
            return &self.walls[index];
        }
        self.parts[self.listed_under[index]].get(&kind).map_or(&[], Vec::as_slice)
    }

    /// Reads a SUBJECT of the command line: one id, a list, ranges: `N/J1,N/J4`, `N/J1..6`. In whatever order they are
    /// given, each counts once and they are taken in the order of the building.
    ///
    /// # Errors
    /// [`SubjectError`] for an id that is not on the job, a bad range, or nothing.
    pub fn parse(&self, text: &str) -> Result<Vec<SubjectIx>, SubjectError> {
        let mut found = Vec::new();
        for item in text.split(',').map(str::trim) {
            if item.is_empty() {
                return Err(SubjectError::Empty);
            }
            match item.split_once("..") {
                Some((first, last)) => found.extend(self.parse_range(item, first, last)?),
                None => found.push(self.find(item)?),
            }
        }
        found.sort_unstable();
        found.dedup();
        Ok(found)
    }

    fn parse_range(&self, item: &str, first: &str, last: &str) -> Result<Vec<SubjectIx>, SubjectError> {
        let bad = || SubjectError::Range(shortened(item));
        let digits = first.trim_end_matches(|c: char| c.is_ascii_digit());
        let from: u32 = first[digits.len()..].parse().map_err(|_| bad())?;
        // Whole (`N/J6`), without its wall (`J6`), or its number alone; nothing of another sort.
        let stem = digits.rsplit('/').next().unwrap_or(digits);
        let last = last.strip_prefix(digits).or_else(|| last.strip_prefix(stem)).unwrap_or(last);
        let to: u32 = Some(last)
            .filter(|n| n.bytes().all(|b| b.is_ascii_digit()))
            .and_then(|n| n.parse().ok())
            .ok_or_else(bad)?;
        if to < from || to - from > 10_000 {
            return Err(bad());
        }
        (from..=to).map(|number| self.find(&format!("{digits}{number}"))).collect()
    }

    /// The joints or courses of a wall of which an id names one, for `N/J9` those of N.
    fn of_the_same_kind(&self, id: &str) -> Vec<SubjectIx> {
        let stem = |id: &str| id.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
        let is_alike = |subject: &Subject| subject.number().is_some() && stem(&subject.to_string()) == stem(id);
        self.indexes().filter(|index| is_alike(self.get(*index))).collect()
    }

    fn find(&self, id: &str) -> Result<SubjectIx, SubjectError> {
        self.index(id).ok_or_else(|| {
            let known: Vec<&str> = self.by_id.keys().map(String::as_str).collect();
            let alike = self.of_the_same_kind(id);
            let hint = match nearest(id, &known) {
                _ if !alike.is_empty() => format!("; it has {}", self.shortly(&alike)),
                Some(near) => format!("; did you mean {near}?"),
                None => {
                    let walls: Vec<String> = self
                        .list
                        .iter()
                        .filter(|s| matches!(s, Subject::Wall(_) | Subject::Corner(_)))
                        .map(Subject::to_string)
                        .collect();
                    format!("; it has {}", walls.join(", "))
                }
            };
            SubjectError::Unknown { id: shortened(id), job: self.job.clone(), hint }
        })
    }

    /// Writes a set of subjects short: `N/C1..12`, `N/J1, N/J4`.
    pub fn shortly(&self, indexes: &[SubjectIx]) -> String {
        let subjects: Vec<(String, Option<u32>)> = indexes
            .iter()
            .map(|index| {
                let (id, number) = (self.get(*index).to_string(), self.get(*index).number());
                (
                    if number.is_some() { id.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned() } else { id },
                    number,
                )
            })
            .collect();
        let follows = |(stem, number): &(String, Option<u32>), (other, next): &(String, Option<u32>)| {
            stem == other && number.is_some_and(|number| number.checked_add(1) == *next)
        };
        let run = |run: &[(String, Option<u32>)]| match run {
            [(stem, Some(from)), .., (_, Some(to))] => format!("{stem}{from}..{to}"),
            [(stem, Some(number)), ..] => format!("{stem}{number}"),
            [(id, None), ..] => id.clone(),
            [] => String::new(),
        };
        subjects.chunk_by(follows).map(run).collect::<Vec<_>>().join(", ")
    }

    /// The same of ids, as entries have them, each once. What is not on the job (any more) stands as it was recorded.
    pub fn ids_shortly<'i>(&self, ids: impl IntoIterator<Item = &'i str>) -> String {
        let mut known = Vec::new();
        let mut words = Vec::new();
        for id in ids {
            match self.index(id) {
                Some(index) if known.contains(&index) => {}
                Some(index) => known.push(index),
                None if words.contains(&id) => {}
                None => words.push(id),
            }
        }
        let known = self.shortly(&known);
        if !known.is_empty() {
            words.insert(0, &known);
        }
        words.join(", ")
    }
}
