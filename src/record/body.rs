//! What an entry says, by kind.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::building::Job;
use crate::conditions::forecast;
use crate::photos::{PhotoFacts, PhotoSort};

/// An answer to an ask.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Answer {
    /// Yes or no.
    Yes(bool),
    /// A measurement, in the ask's unit.
    Number(f64),
    /// Words, a choice, a batch label.
    Words(String),
    /// A file, by name and by the SHA-256 of what was in it.
    File {
        /// Its name when it was recorded.
        file: String,
        /// SHA-256 of its bytes, lower-case hex.
        sha256: String,
        /// What was kept of the photo; its bytes are kept beside the database then.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<Box<PhotoFacts>>,
    },
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Yes(yes) => f.write_str(if *yes { "yes" } else { "no" }),
            Self::Number(value) => f.write_str(&crate::units::number::show(*value)),
            Self::Words(words) => f.write_str(words),
            Self::File { file, .. } => f.write_str(file),
        }
    }
}

/// The body of an entry. Field names and kinds are part of the record's format: add, never rename.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "kebab-case")]
pub enum Body {
    /// The job was set up, with the sequence it is built by, word for word.
    JobAdded {
        /// The building and its people.
        building: Box<Job>,
        /// The text of the sequence file.
        sequence: String,
    },
    /// A newer sequence was adopted.
    SequenceAdopted {
        /// The text of the sequence file.
        sequence: String,
        /// Why.
        why: String,
    },
    /// A person came onto the job.
    PersonAdded {
        /// Full name.
        name: String,
        /// Roles.
        roles: Vec<String>,
    },
    /// A site day began.
    DayOpened {
        /// Who is on site.
        crew: Vec<String>,
        /// What the pre-start talk was about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        talk: Option<String>,
        /// Hazards of the day.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        hazards: Vec<String>,
    },
    /// People joined the crew later in the day.
    DayJoined {
        /// Who.
        crew: Vec<String>,
    },
    /// The site day ended.
    DayClosed {
        /// Hours worked, by person.
        hours: BTreeMap<String, f64>,
        /// A remark.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// A step was done on a subject.
    StepDone {
        /// Key of the step.
        step: String,
        /// Id of the subject.
        subject: String,
        /// Answers by key of the ask.
        #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
        answers: BTreeMap<String, Answer>,
        /// Why it is recorded although a rule stops it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        anyway: Option<String>,
    },
    /// Site conditions were read on a wall.
    ReadingTaken {
        /// Key of the wall.
        subject: String,
        /// Air temperature, °C.
        air_c: f64,
        /// Relative humidity, %.
        humidity_pct: f64,
        /// Surface temperature, °C.
        surface_c: f64,
        /// Wind, km/h.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wind_kmh: Option<f64>,
        /// Whether it rains on the wall.
        rain: bool,
    },
    /// A weather forecast was taken up: what is foreseen, never what was read.
    ForecastAdded {
        /// Where it comes from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        source: Option<String>,
        /// The hours, in order.
        hours: Vec<forecast::Hour>,
    },
    /// People acknowledged a caution.
    CautionAcknowledged {
        /// Key of the caution.
        caution: String,
        /// Who.
        people: Vec<String>,
    },
    /// A release was asked for.
    HoldAsked {
        /// Key of the hold point.
        hold: String,
        /// Id of the wall, or `job`.
        subject: String,
    },
    /// A hold point was released.
    HoldReleased {
        /// Key of the hold point.
        hold: String,
        /// Id of the wall, or `job`.
        subject: String,
        /// Who released it.
        person: String,
        /// How: on site, by phone, in writing.
        how: String,
        /// What shows it: a message, a photo, a paper.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        evidence: Option<String>,
    },
    /// A release was refused.
    HoldRefused {
        /// Key of the hold point.
        hold: String,
        /// Id of the wall, or `job`.
        subject: String,
        /// Who refused it.
        person: String,
        /// Why.
        why: String,
    },
    /// Somebody saw a defect.
    DefectOpened {
        /// Id of the subject.
        subject: String,
        /// What is wrong.
        what: String,
    },
    /// A defect was put right.
    DefectClosed {
        /// Id of the defect.
        defect: String,
        /// Who says so.
        person: String,
        /// How it was put right.
        how: String,
    },
    /// A defect may stand.
    DefectConceded {
        /// Id of the defect.
        defect: String,
        /// Who gives the concession.
        person: String,
        /// Why it may stand.
        why: String,
    },
    /// Another entry is crossed out.
    Struck {
        /// Its id.
        entry: String,
        /// Why.
        why: String,
    },
    /// A sum was kept: what went in and what came out.
    PlanKept {
        /// Name of the sum.
        sum: String,
        /// Id of the subject.
        subject: String,
        /// What went in.
        inputs: Value,
        /// What came out, as the command prints it.
        result: Value,
    },
    /// A photo was put on a subject; its bytes are kept beside the database.
    PhotoAdded {
        /// Id of the subject.
        subject: String,
        /// Key of the step that it shows.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        step: Option<String>,
        /// Its name when it was recorded.
        file: String,
        /// SHA-256 of its bytes, lower-case hex.
        sha256: String,
        /// What was kept of it.
        photo: PhotoFacts,
        /// What it shows, in words.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// A remark.
    Noted {
        /// Id of the subject.
        subject: String,
        /// The remark.
        text: String,
    },
    /// A batch of a product came onto site.
    BatchDelivered {
        /// The product, such as `sealant`.
        product: String,
        /// What stands on the label.
        batch: String,
        /// Its colour.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        colour: Option<String>,
        /// How many, in `unit`.
        count: f64,
        /// What it is counted in, such as `cartridges`.
        unit: String,
        /// The last day on which it may be used.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        expires: Option<NaiveDate>,
        /// How it came: whole, wet, chipped.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        condition: Option<String>,
        /// A remark.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// Stock was taken otherwise than by a step.
    StockTaken {
        /// The product.
        product: String,
        /// What stands on the label.
        batch: String,
        /// Id of the subject that it went to; `job` where it went to none.
        subject: String,
        /// What became of it: used, cut-up, off-cut, thrown-away, sent-back.
        how: String,
        /// How many; where none is given, what the subject takes by the job's geometry.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        count: Option<f64>,
        /// A remark.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// Why it is recorded although a rule stops it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        anyway: Option<String>,
    },
    /// Work stopped.
    StoppageStarted {
        /// Id of the subject on which it stopped; `job` for all of it.
        subject: String,
        /// What stopped it.
        cause: String,
        /// Who was told, of the job or not.
        told: Vec<String>,
        /// How many of the crew stood idle; everybody on site when left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        people: Option<u32>,
    },
    /// Work went on again.
    StoppageEnded {
        /// Id of the entry that started the stoppage.
        stoppage: String,
        /// A remark.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// Somebody asked for work beyond what was agreed.
    ExtraAdded {
        /// Id of the subject.
        subject: String,
        /// What is asked for.
        what: String,
        /// Who asked, of the job or not.
        asked_by: String,
        /// Who was told besides.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        told: Vec<String>,
        /// Hours that it took or will take, of each of `people`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hours: Option<f64>,
        /// How many people.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        people: Option<u32>,
        /// How much, in `unit`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        quantity: Option<f64>,
        /// The unit of the quantity.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
    },
    /// A kind that this version does not know: kept as it is.
    #[serde(skip)]
    Unknown {
        /// The kind.
        kind: String,
        /// The body.
        body: Value,
    },
}

impl Body {
    /// The photos that it names and whose bytes are kept: digest and sort of file.
    pub fn photos(&self) -> Vec<(&str, PhotoSort)> {
        match self {
            Self::PhotoAdded { sha256, photo, .. } => vec![(sha256, photo.format)],
            Self::StepDone { answers, .. } => answers
                .values()
                .filter_map(|answer| match answer {
                    Answer::File { sha256, photo: Some(photo), .. } => Some((sha256.as_str(), photo.format)),
                    _ => None,
                })
                .collect(),
            _ => Vec::new(),
        }
    }

    /// Whether it changes what the job comes to; remarks and photos only stand beside it.
    pub fn changes_state(&self) -> bool {
        !matches!(self, Self::Noted { .. } | Self::PhotoAdded { .. })
    }

    /// The kind as the record writes it.
    pub fn kind(&self) -> &str {
        match self {
            Self::JobAdded { .. } => "job-added",
            Self::SequenceAdopted { .. } => "sequence-adopted",
            Self::PersonAdded { .. } => "person-added",
            Self::DayOpened { .. } => "day-opened",
            Self::DayJoined { .. } => "day-joined",
            Self::DayClosed { .. } => "day-closed",
            Self::StepDone { .. } => "step-done",
            Self::ReadingTaken { .. } => "reading-taken",
            Self::ForecastAdded { .. } => "forecast-added",
            Self::CautionAcknowledged { .. } => "caution-acknowledged",
            Self::HoldAsked { .. } => "hold-asked",
            Self::HoldReleased { .. } => "hold-released",
            Self::HoldRefused { .. } => "hold-refused",
            Self::DefectOpened { .. } => "defect-opened",
            Self::DefectClosed { .. } => "defect-closed",
            Self::DefectConceded { .. } => "defect-conceded",
            Self::Struck { .. } => "struck",
            Self::PlanKept { .. } => "plan-kept",
            Self::PhotoAdded { .. } => "photo-added",
            Self::Noted { .. } => "noted",
            Self::BatchDelivered { .. } => "batch-delivered",
            Self::StockTaken { .. } => "stock-taken",
            Self::StoppageStarted { .. } => "stoppage-started",
            Self::StoppageEnded { .. } => "stoppage-ended",
            Self::ExtraAdded { .. } => "extra-added",
            Self::Unknown { kind, .. } => kind,
        }
    }

    /// The id of the subject that it is about; `job` where it is about no part of the building.
    pub fn subject(&self) -> &str {
        match self {
            Self::StepDone { subject, .. }
            | Self::ReadingTaken { subject, .. }
            | Self::HoldAsked { subject, .. }
            | Self::HoldReleased { subject, .. }
            | Self::HoldRefused { subject, .. }
            | Self::DefectOpened { subject, .. }
            | Self::PlanKept { subject, .. }
            | Self::PhotoAdded { subject, .. }
            | Self::StockTaken { subject, .. }
            | Self::StoppageStarted { subject, .. }
            | Self::ExtraAdded { subject, .. }
            | Self::Noted { subject, .. } => subject,
            Self::Unknown { body, .. } => body.get("subject").and_then(Value::as_str).unwrap_or("job"),
            _ => "job",
        }
    }
}
