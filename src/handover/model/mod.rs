//! The document: everything that the pack says, as one value; and the evening report.

mod blob;
mod costs;
mod evening;
mod materials;
mod sealing;
mod words;
mod work;

pub mod paths;

pub use blob::{Blob, Reader};
pub use costs::{Costs, ExtraTold, QuantityTold, StoppageTold};
pub use evening::{Ahead, Evening, ExtraOfDay, HoldOfDay, Measured, StepOfDay, StoppageOfDay, Weather, Worked};
pub use materials::{BatchTold, CameTold, CutsTold, Materials, Ordered, TakenTold, TracedTold};
pub use sealing::{ForecastTold, JointTold, SealPlanTold, StintTold, WeatherTold};
pub use words::{clock_on, when};
pub use work::{Answered, DefectTold, HoldTold, PhotoTold, ReadingTold, StepTold, WindowTold};

use serde::Serialize;

use crate::building::Wall;
use crate::moment::Moment;
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
    /// What it changed: every number, hold point and window that differs from the one before.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<String>,
    /// That it is an edited copy of the one that comes with the program, and what differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edited: Option<String>,
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
