//! The document: everything that the pack says, as one value.

use serde::Serialize;

use super::costs::Costs;
use super::materials::Materials;
use super::ordered::Ordered;
use super::sealing::{ForecastTold, JointTold, SealPlanTold};
use crate::building::Wall;
use crate::moment::Moment;
use crate::photos::{Direction, Place};
use crate::setout::drawing::Elevation;

/// Everything that the pack says. Lists are in the order in which they are printed.
#[derive(Debug, Clone, Serialize)]
pub struct Document {
    /// Version of the program.
    pub program: String,
    /// The moment that it speaks of.
    pub made_at: Moment,
    /// Something was written under a rehearsal clock: nothing in it is evidence.
    pub rehearsal: bool,
    /// Nothing is missing.
    pub complete: bool,
    /// How many people's names are withheld; nought in a pack.
    #[serde(skip_serializing_if = "is_none")]
    pub withheld: usize,
    /// The job.
    pub job: JobFacts,
    /// What is missing, what weighs most first.
    pub missing: Vec<Missing>,
    /// What a reader should know besides.
    pub remarks: Vec<String>,
    /// Counts.
    pub summary: Summary,
    /// Hold points.
    pub holds: Vec<HoldTold>,
    /// The whole building, each wall, each corner.
    pub parts: Vec<Part>,
    /// Steps done, each with its answers.
    pub steps: Vec<StepTold>,
    /// Photos, in the order in which what they show happened.
    pub photos: Vec<PhotoTold>,
    /// Places were left out: the photos of the pack are copies.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub no_places: bool,
    /// The fingerprint of the key that signs the pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// Readings of site conditions.
    pub readings: Vec<ReadingTold>,
    /// Every run of every window.
    pub windows: Vec<WindowTold>,
    /// Every priming of every joint: its clock, and the weather that it was sealed in.
    pub joints: Vec<JointTold>,
    /// The seal plans that were kept.
    pub seal_plans: Vec<SealPlanTold>,
    /// The forecasts that were taken up: foreseen, not read.
    pub forecasts: Vec<ForecastTold>,
    /// Defects and concessions, open ones first.
    pub defects: Vec<DefectTold>,
    /// Entries recorded late.
    pub late: Vec<LateTold>,
    /// Entries crossed out.
    pub struck: Vec<StruckTold>,
    /// People and roles.
    pub people: Vec<PersonTold>,
    /// Site days with hours.
    pub days: Vec<DayWorked>,
    /// Cautions acknowledged.
    pub cautions: Vec<Acknowledged>,
    /// Stoppages, extra work, quantities and pace.
    pub costs: Costs,
    /// Batches, where each is, and what was counted.
    pub materials: Materials,
    /// What was ordered and how it was to be cut, as kept.
    pub ordered: Ordered,
    /// Papers that the sequence asks for, held or not.
    pub papers: Vec<HeldPaper>,
    /// Ids of entries that this program does not understand.
    pub not_understood: Vec<String>,
    /// What the tolerances and times rest on; answers and windows name a line by its number, from 1.
    pub bases: Vec<String>,
    /// Care advice of the sequence.
    pub care: Vec<String>,
    /// Every entry, oldest first.
    pub log: Vec<Logged>,
    /// SHA-256 of record.jsonl, lower-case hex.
    pub record_sha256: String,
}

fn is_none(many: &usize) -> bool {
    *many == 0
}

/// The job, and what it is built by.
#[derive(Debug, Clone, Serialize)]
pub struct JobFacts {
    /// Key.
    pub key: String,
    /// Name.
    pub name: String,
    /// Where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Who the pack is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub builder: Option<String>,
    /// Time zone of the site.
    pub time_zone: String,
    /// The sequences that it was built by, the first one first.
    pub editions: Vec<Edition>,
    /// What the sequence defers to.
    pub comes_first: String,
}

/// A sequence that the job was built by.
#[derive(Debug, Clone, Serialize)]
pub struct Edition {
    /// Key.
    pub key: String,
    /// What is put up, and how.
    pub title: String,
    /// Date or number.
    pub edition: String,
    /// SHA-256 of its text, lower-case hex.
    pub sha256: String,
    /// Since when.
    pub since: Moment,
    /// Why it was adopted; absent for the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Something that is missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// Its sort: defect, hold, step or entry.
    pub sort: &'static str,
    /// Where: subjects, written short.
    pub on: String,
    /// What.
    pub what: String,
    /// How it stands.
    pub stands: String,
}

/// Counts.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Summary {
    /// Steps asked for, subject by subject.
    pub steps_asked: usize,
    /// Of them complete.
    pub steps_complete: usize,
    /// Hold points.
    pub holds: usize,
    /// Of them released.
    pub holds_released: usize,
    /// Defects ever opened.
    pub defects: usize,
    /// Of them open.
    pub defects_open: usize,
    /// Of them put right.
    pub defects_closed: usize,
    /// Of them conceded.
    pub defects_conceded: usize,
    /// Windows begun.
    pub windows: usize,
    /// Of them met in time.
    pub windows_met: usize,
    /// Of them answered out of time.
    pub windows_broken: usize,
    /// Of them lapsed or begun again.
    pub windows_lapsed: usize,
    /// Of them running.
    pub windows_running: usize,
    /// Measurements judged against a tolerance.
    pub measurements: usize,
    /// Of them out of tolerance when measured.
    pub measurements_out: usize,
    /// Entries of the record.
    pub entries: usize,
    /// Of them recorded late.
    pub late: usize,
    /// Of them struck.
    pub struck: usize,
    /// Hours worked, as far as days were closed.
    pub hours: f64,
}

/// A hold point on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct HoldTold {
    /// Key.
    pub key: String,
    /// What is released.
    pub title: String,
    /// On what.
    pub subject: String,
    /// held, released or refused.
    pub state: &'static str,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// Who released or refused it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// In which role.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<Moment>,
    /// How, or why not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// What shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
    /// When it was last asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_at: Option<Moment>,
    /// Id of the entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<String>,
}

/// A part of the building with a heading of its own.
#[derive(Debug, Clone, Serialize)]
pub struct Part {
    /// Id of the subject: `job`, a wall, a corner.
    pub key: String,
    /// Heading.
    pub title: String,
    /// The wall as the job gives it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall: Option<Wall>,
    /// The wall as set out, where the job has kept the plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_out: Option<Elevation>,
}

/// A step done on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct StepTold {
    /// Id of the entry.
    pub entry: String,
    /// The part of the building that it belongs to.
    pub part: String,
    /// Id of the subject.
    pub subject: String,
    /// Key of the step.
    pub step: String,
    /// What was done.
    pub title: String,
    /// When.
    pub at: Moment,
    /// Recorded late.
    pub late: bool,
    /// Who recorded it.
    pub by: String,
    /// Answers.
    pub answers: Vec<Answered>,
    /// Why it was recorded although a rule stopped it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
}

/// A photo.
#[derive(Debug, Clone, Serialize)]
pub struct PhotoTold {
    /// Its number in this pack, from 1; the same file has the same number. Absent where only its name is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<usize>,
    /// The part of the building.
    pub part: String,
    /// Ids of the subjects.
    pub subjects: Vec<String>,
    /// Key of the step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// What was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// When that was, or when the photo was recorded.
    pub at: Moment,
    /// Its name when it was recorded.
    pub file: String,
    /// SHA-256 of the original, lower-case hex.
    pub sha256: String,
    /// When the camera says that it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_at: Option<Moment>,
    /// What was said about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What a reader should know about it.
    pub flags: Vec<String>,
    /// Ids of the entries.
    pub entries: Vec<String>,
    /// How it stands in the pack: original, copy, left out, missing, named only.
    pub stands: &'static str,
    /// Path of its file in the pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// SHA-256 of the copy in the pack, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub copy_sha256: Option<String>,
    /// Path of its small picture in the pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub small: Option<String>,
    /// Why there is no small picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why_no_small: Option<String>,
    /// Where it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Which way the camera looked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub direction: Option<Direction>,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answered {
    /// Key of the ask.
    pub ask: String,
    /// The question.
    pub prompt: String,
    /// The answer with its unit.
    pub answer: String,
    /// The number alone, in `unit`, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The unit of the number.
    #[serde(skip_serializing_if = "str::is_empty")]
    pub unit: &'static str,
    /// SHA-256 of the file, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
    /// What is in tolerance, in words; empty where anything goes.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub allowed: String,
    /// What the tolerance rests on: a line of [`Document::bases`], from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<usize>,
    /// Whether it is in tolerance; absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within: Option<bool>,
    /// The defect that it opened, and how that stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub defect: Option<String>,
}

/// A reading of site conditions.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingTold {
    /// Id of the entry.
    pub entry: String,
    /// The wall.
    pub subject: String,
    /// When.
    pub at: Moment,
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Dew point, °C, by the same formula as the limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dew_point_c: Option<f64>,
    /// Wind, km/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Rain on the wall.
    pub rain: bool,
}

/// One run of a window on a subject.
#[derive(Debug, Clone, Serialize)]
pub struct WindowTold {
    /// Key.
    pub key: String,
    /// What it is.
    pub title: String,
    /// The part of the building.
    pub part: String,
    /// The subject.
    pub subject: String,
    /// Id of the entry that began it.
    pub from_entry: String,
    /// When it began.
    pub began_at: Moment,
    /// When it opened.
    pub opens_at: Moment,
    /// When it closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closes_at: Option<Moment>,
    /// When the second step was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answered_at: Option<Moment>,
    /// Id of the entry that did it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to_entry: Option<String>,
    /// When rain or frost ended it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spoiled_at: Option<Moment>,
    /// How it stands: met, early, late, lapsed, again, running.
    pub state: &'static str,
    /// The same in words.
    pub says: String,
    /// What its times rest on: a line of [`Document::bases`], from 1.
    pub basis: usize,
}

/// A defect.
#[derive(Debug, Clone, Serialize)]
pub struct DefectTold {
    /// Number in this pack, as the drawings mark it.
    pub number: usize,
    /// Id.
    pub id: String,
    /// The part of the building.
    pub part: String,
    /// The subject.
    pub subject: String,
    /// The rule that found it; absent when a person did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// What is wrong.
    pub what: String,
    /// Id of the entry that opened it.
    pub opened_by: String,
    /// When.
    pub opened_at: Moment,
    /// open, closed or conceded.
    pub state: &'static str,
    /// How it was put right, or why it may stand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// Who says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Id of the entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_by: Option<String>,
}

/// An entry recorded late.
#[derive(Debug, Clone, Serialize)]
pub struct LateTold {
    /// Id.
    pub entry: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Who by.
    pub by: String,
    /// What it says.
    pub what: String,
}

/// An entry crossed out.
#[derive(Debug, Clone, Serialize)]
pub struct StruckTold {
    /// Id.
    pub entry: String,
    /// When it happened.
    pub happened_at: Moment,
    /// Recorded late.
    pub late: bool,
    /// What it said.
    pub what: String,
    /// Id of the entry that strikes it.
    pub struck_by: String,
    /// When.
    pub struck_at: Moment,
    /// Who struck it.
    pub by: String,
    /// Why.
    pub why: String,
}

/// A person.
#[derive(Debug, Clone, Serialize)]
pub struct PersonTold {
    /// Name.
    pub name: String,
    /// Roles.
    pub roles: Vec<String>,
    /// Hours worked.
    pub hours: f64,
}

/// A site day.
#[derive(Debug, Clone, Serialize)]
pub struct DayWorked {
    /// The date.
    pub date: String,
    /// Opened.
    pub opened_at: Moment,
    /// Closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closed_at: Option<Moment>,
    /// Who was there.
    pub crew: Vec<OnSite>,
    /// Pre-start talk.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// Hazards.
    pub hazards: Vec<String>,
    /// Remark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Somebody on site on a day.
#[derive(Debug, Clone, Serialize)]
pub struct OnSite {
    /// Name.
    pub name: String,
    /// Since when.
    pub since: Moment,
    /// Hours worked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// A caution that a person acknowledged.
#[derive(Debug, Clone, Serialize)]
pub struct Acknowledged {
    /// The date.
    pub date: String,
    /// Key of the caution.
    pub caution: String,
    /// The hazard.
    pub title: String,
    /// Who.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// A paper that the sequence asks for, or that the job holds besides.
#[derive(Debug, Clone, Serialize)]
pub struct HeldPaper {
    /// Key.
    pub key: String,
    /// What is asked for.
    pub asked: String,
    /// The title that the job holds; absent when it holds none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held: Option<String>,
}

/// An entry, as the log lists it.
#[derive(Debug, Clone, Serialize)]
pub struct Logged {
    /// Id.
    pub id: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// Who by.
    pub by: String,
    /// Kind.
    pub kind: String,
    /// Subject.
    pub subject: String,
    /// What it says.
    pub what: String,
    /// Recorded late.
    pub late: bool,
    /// Id of the entry that strikes it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub struck_by: Option<String>,
    /// Hash.
    pub hash: String,
}
