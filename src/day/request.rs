//! What people want recorded, as it was asked for.

use std::collections::BTreeMap;
use std::path::PathBuf;

use super::asks::AnswerError;
use super::replay::ReplayError;
use crate::building::SubjectError;
use crate::photos::PhotoFacts;
use crate::record::Answer;
use crate::refusal::Refusal;
use crate::units::OutOfRange;

/// An answer as it was given.
#[derive(Debug, Clone)]
pub struct Given {
    /// Only for this subject, where several are recorded at once.
    pub subject: Option<String>,
    /// Key of the ask.
    pub key: String,
    /// As typed, or a file with its digest.
    pub value: Value,
}

/// What was given.
#[derive(Debug, Clone)]
pub enum Value {
    /// As typed.
    Typed(String),
    /// A photo that was looked over.
    File(Box<Photo>),
}

/// A photo that was looked over, to be kept when the request is granted.
#[derive(Debug, Clone)]
pub struct Photo {
    /// Its name.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// What the record keeps of it.
    pub facts: PhotoFacts,
    /// Where it lies.
    pub source: PathBuf,
}

/// Extra work as it was asked for.
#[derive(Debug, Clone, Default)]
pub struct Extra {
    /// SUBJECT as typed.
    pub on: String,
    /// What.
    pub what: String,
    /// Who asked.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// Hours of each of the people.
    pub hours: Option<f64>,
    /// How many people.
    pub people: Option<u32>,
    /// How much.
    pub quantity: Option<f64>,
    /// In which unit.
    pub unit: Option<String>,
}

/// Something that a person wants recorded.
#[derive(Debug, Clone)]
pub enum Request {
    /// A site day begins.
    OpenDay {
        /// Who is on site.
        crew: Vec<String>,
        /// Pre-start talk.
        talk: Option<String>,
        /// Hazards.
        hazards: Vec<String>,
    },
    /// People join the crew.
    JoinDay {
        /// Who.
        crew: Vec<String>,
    },
    /// The site day ends.
    CloseDay {
        /// Hours worked, by person.
        hours: BTreeMap<String, f64>,
        /// Remark.
        note: Option<String>,
    },
    /// A step was done.
    Step {
        /// Key of the step.
        step: String,
        /// SUBJECT as typed.
        on: String,
        /// Answers.
        answers: Vec<Given>,
        /// Why it is to be recorded although a rule stops it.
        anyway: Option<String>,
    },
    /// Site conditions.
    Reading {
        /// Walls as typed.
        on: String,
        /// Air, °C.
        air_c: f64,
        /// Humidity, %.
        humidity_pct: f64,
        /// Surface, °C.
        surface_c: f64,
        /// Wind, km/h.
        wind_kmh: Option<f64>,
        /// Rain.
        rain: bool,
    },
    /// A weather forecast.
    Forecast {
        /// Where it comes from.
        source: Option<String>,
        /// The hours.
        hours: Vec<crate::conditions::forecast::Hour>,
    },
    /// A caution acknowledged.
    Caution {
        /// Key.
        caution: String,
        /// Who.
        people: Vec<String>,
    },
    /// A release asked for.
    AskHold {
        /// Key.
        hold: String,
        /// SUBJECT as typed.
        on: String,
    },
    /// A release given.
    ReleaseHold {
        /// Key.
        hold: String,
        /// SUBJECT as typed.
        on: String,
        /// Who.
        person: String,
        /// How.
        how: String,
        /// What shows it.
        evidence: Option<String>,
    },
    /// A release refused.
    RefuseHold {
        /// Key.
        hold: String,
        /// SUBJECT as typed.
        on: String,
        /// Who.
        person: String,
        /// Why.
        why: String,
    },
    /// A defect seen.
    OpenDefect {
        /// SUBJECT as typed.
        on: String,
        /// What is wrong.
        what: String,
    },
    /// A defect put right.
    CloseDefect {
        /// Id.
        defect: String,
        /// Who says so.
        person: String,
        /// How.
        how: String,
    },
    /// A concession.
    Concede {
        /// Id.
        defect: String,
        /// Who gives it.
        person: String,
        /// Why it may stand.
        why: String,
    },
    /// An entry crossed out.
    Strike {
        /// Its id.
        entry: String,
        /// Why.
        why: String,
        /// Even if later work loses its footing.
        anyway: bool,
    },
    /// A sum kept in the record.
    Keep {
        /// Name of the sum.
        sum: String,
        /// SUBJECT as typed.
        on: String,
        /// What went in.
        inputs: serde_json::Value,
        /// What came out.
        result: serde_json::Value,
    },
    /// Photos put on subjects.
    AddPhotos {
        /// SUBJECT as typed.
        on: String,
        /// Key of the step that they show.
        step: Option<String>,
        /// What they show, in words.
        note: Option<String>,
        /// The photos.
        photos: Vec<Photo>,
    },
    /// A remark.
    Note {
        /// SUBJECT as typed.
        on: String,
        /// The remark.
        text: String,
    },
    /// Work stopped.
    StartStoppage {
        /// SUBJECT as typed.
        on: String,
        /// What stopped it.
        cause: String,
        /// Who was told.
        told: Vec<String>,
        /// How many stood idle; everybody when left out.
        people: Option<u32>,
    },
    /// Work went on.
    EndStoppage {
        /// Id of the entry that started it; the only open one when left out.
        stoppage: Option<String>,
        /// Remark.
        note: Option<String>,
    },
    /// Extra work was asked for.
    AddExtra(Extra),
    /// A newer sequence.
    Adopt {
        /// Text of the file.
        text: String,
        /// Why.
        why: String,
    },
    /// A batch came.
    Deliver(Delivered),
    /// Stock was taken otherwise than by a step.
    Take(TakenFrom),
    /// A person comes onto the job.
    AddPerson {
        /// Name.
        name: String,
        /// Roles.
        roles: Vec<String>,
    },
}

impl Photo {
    /// The photo as an answer.
    pub fn answer(&self) -> Answer {
        let photo = Some(Box::new(self.facts.clone()));
        Answer::File { file: self.file.clone(), sha256: self.sha256.clone(), photo }
    }
}

impl Request {
    /// The photos that are to be kept with it.
    pub fn photos(&self) -> Vec<&Photo> {
        match self {
            Self::AddPhotos { photos, .. } => photos.iter().collect(),
            Self::Step { answers, .. } => answers
                .iter()
                .filter_map(|given| match &given.value {
                    Value::File(photo) => Some(photo.as_ref()),
                    Value::Typed(_) => None,
                })
                .collect(),
            _ => Vec::new(),
        }
    }
}

/// A delivery, as typed.
#[derive(Debug, Clone, Default)]
pub struct Delivered {
    /// The product.
    pub product: String,
    /// What stands on the label.
    pub batch: String,
    /// Its colour.
    pub colour: Option<String>,
    /// How many.
    pub count: String,
    /// What it is counted in, where it is not the product's usual unit.
    pub unit: Option<String>,
    /// The last day on which it may be used, as in `2026-11-30`.
    pub expires: Option<String>,
    /// How it came.
    pub condition: Option<String>,
    /// A remark.
    pub note: Option<String>,
}

/// Stock taken, as typed.
#[derive(Debug, Clone, Default)]
pub struct TakenFrom {
    /// The product, where the label alone does not say.
    pub product: Option<String>,
    /// What stands on the label.
    pub batch: String,
    /// SUBJECT as typed.
    pub on: String,
    /// What became of it, by the words of [`How`](super::How).
    pub how: String,
    /// How many on each subject, where somebody counted.
    pub count: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Why it is to be recorded although a rule stops it.
    pub anyway: Option<String>,
}

/// Why nothing is recorded.
#[derive(Debug, thiserror::Error)]
pub enum DecideError {
    /// A rule stops it.
    #[error("{0}")]
    Refused(Box<Refusal>),
    /// Something in the request is wrong.
    #[error("{0}")]
    Input(String),
}

impl From<Refusal> for DecideError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

impl From<SubjectError> for DecideError {
    fn from(error: SubjectError) -> Self {
        Self::Input(error.to_string())
    }
}

impl From<AnswerError> for DecideError {
    fn from(error: AnswerError) -> Self {
        Self::Input(error.to_string())
    }
}

impl From<OutOfRange> for DecideError {
    fn from(error: OutOfRange) -> Self {
        Self::Input(error.to_string())
    }
}

impl From<ReplayError> for DecideError {
    fn from(error: ReplayError) -> Self {
        Self::Input(error.to_string())
    }
}
