//! What each kind of entry says.
//!
//! A struct of this file is one thing in three places: the arguments of the command, the request that is decided, and
//! the body that is recorded. In a request the subject is SUBJECT as typed, which may be a list or a range (`N/J1..6`);
//! deciding it gives one body a subject. The names of the fields are hashed with every entry: add, never rename.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use clap::Args;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::answer::Answer;
use super::id::{DefectId, EntryId};
use crate::building::Job;
use crate::conditions::forecast::Hour;
use crate::materials::product::Amount;
use crate::moment::{Moment, parse_date};
use crate::photos::PhotoFacts;
use crate::refusal::Rule;
use crate::units::number::show;
use crate::units::parse_decimal;

/// The job is set up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetUpJob {
    /// The building and its people.
    pub building: Box<Job>,
    /// The text of the sequence file that it is built by.
    pub sequence: String,
}

/// A newer sequence is adopted.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AdoptSequence {
    /// The text of the sequence file.
    #[arg(skip)]
    pub sequence: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}

/// The building of a running job changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReviseJob {
    /// The job as it is from now on; its key and time zone stay.
    pub building: Box<Job>,
    /// What differs from before, in words.
    pub changes: Vec<String>,
    /// Why.
    pub why: String,
    /// Even if work is recorded on parts that go: it becomes a defect.
    #[serde(default, skip_serializing_if = "is_false")]
    pub anyway: bool,
}

fn is_false(yes: &bool) -> bool {
    !yes
}

/// A person comes onto the job.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddPerson {
    /// Full name
    pub name: String,
    /// A role, as the sequence names it
    #[arg(long = "role", required = true)]
    pub roles: Vec<String>,
}

/// A site day begins.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct OpenDay {
    /// Who is on site
    #[arg(long, num_args = 1.., value_name = "NAME")]
    pub crew: Vec<String>,
    /// What the pre-start talk was about
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// A hazard of the day
    #[arg(long = "hazard", value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hazards: Vec<String>,
}

/// People join the crew later in the day.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct JoinDay {
    /// Who came onto site
    #[arg(long, num_args = 1.., required = true, value_name = "NAME")]
    pub crew: Vec<String>,
}

/// The site day ends.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct CloseDay {
    /// Hours worked, by person.
    #[arg(skip)]
    pub hours: BTreeMap<String, f64>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A step was done on a subject. What is asked for is a [`RecordStep`](crate::day::RecordStep), whose answers are not
/// read yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepDone {
    /// Key of the step.
    pub step: String,
    /// Id of the subject.
    pub subject: String,
    /// Answers by key of the ask.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub answers: BTreeMap<String, Answer>,
    /// When it was begun, where that was said: some windows count from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began: Option<Moment>,
    /// Why it is recorded although a rule stops it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
    /// The rules that stopped it then. What is recorded later, or struck, may make them hold; that they stopped it stays.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stopped_by: Vec<StoppedBy>,
}

/// A rule that stopped a step which was recorded anyway.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoppedBy {
    /// The rule.
    pub rule: Rule,
    /// The hold point, window, limit or caution.
    pub key: String,
    /// Why.
    pub why: String,
}

/// Site conditions on a wall, or on every wall: what was read of them.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct TakeReading {
    /// The wall or walls; job for all of them
    #[arg(long = "on", value_name = "WALL|job")]
    pub subject: String,
    /// Air temperature in the shade, °C
    #[arg(long = "air", value_name = "C", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_c: Option<f64>,
    /// Relative humidity, %
    #[arg(long = "humidity", value_name = "PCT", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub humidity_pct: Option<f64>,
    /// Surface temperature of the wall, °C
    #[arg(long = "surface", value_name = "C", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surface_c: Option<f64>,
    /// Wind, km/h
    #[arg(long = "wind", value_name = "KMH", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Wind as a Beaufort force, 0 to 12; it stands for the middle of its range
    #[arg(long, value_name = "FORCE", conflicts_with = "wind_kmh", value_parser = clap::value_parser!(u8).range(0..=12))]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beaufort: Option<u8>,
    /// It is raining on the wall
    #[arg(long)]
    pub rain: bool,
    /// It is dry, and nothing else was read; every reading without --rain says so too
    #[arg(long, conflicts_with = "rain")]
    #[serde(skip)]
    pub dry: bool,
}

impl TakeReading {
    /// Whether it was freezing.
    pub fn is_frost(&self) -> bool {
        self.air_c.is_some_and(|air| air <= 0.0) || self.surface_c.is_some_and(|surface| surface <= 0.0)
    }

    /// What was read, in words; `rain` is the word for rain.
    pub fn in_words(&self, rain: &str) -> String {
        let value =
            |what: &str, value: Option<f64>, unit: &str| value.map(|value| format!("{what} {} {unit}", show(value)));
        let force = self.beaufort.map(|force| format!(" (force {force})")).unwrap_or_default();
        let parts = [
            value("air", self.air_c, "°C"),
            value("humidity", self.humidity_pct, "%"),
            value("surface", self.surface_c, "°C"),
            value("wind", self.wind_kmh, "km/h").map(|wind| wind + &force),
            self.rain.then(|| rain.to_owned()),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        if parts.is_empty() { "dry".to_owned() } else { parts.join(", ") }
    }
}

/// A weather forecast: what is expected, never what was read.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddForecast {
    /// Where it comes from
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// The hours, in order.
    #[arg(skip)]
    pub hours: Vec<Hour>,
}

/// People acknowledge a caution.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AcknowledgeCaution {
    /// Key of the caution
    #[arg(value_name = "KEY")]
    pub caution: String,
    /// Who acknowledged it
    #[arg(long = "person", num_args = 1.., required = true, value_name = "NAME")]
    pub people: Vec<String>,
}

/// A release is asked for.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AskRelease {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
}

/// A hold point is released.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct ReleaseHold {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// Who releases it
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// How: on site, by phone, in writing
    #[arg(long, value_name = "TEXT")]
    pub how: String,
    /// What shows it: a message, a photo, a paper
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
}

/// A release is refused.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct RefuseHold {
    /// Key of the hold point
    #[arg(value_name = "KEY")]
    pub hold: String,
    /// The wall or walls, or job
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// Who refuses it
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}

/// Somebody saw a defect.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct OpenDefect {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// What is wrong
    #[arg(long, value_name = "TEXT")]
    pub what: String,
}

/// A defect was put right.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct CloseDefect {
    /// Id of the defect
    #[arg(value_name = "ID")]
    pub defect: DefectId,
    /// Who says that it is put right
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// How it was put right
    #[arg(long, value_name = "TEXT")]
    pub how: String,
}

/// A concession: a defect may stand.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct ConcedeDefect {
    /// Id of the defect
    #[arg(value_name = "ID")]
    pub defect: DefectId,
    /// Who gives the concession
    #[arg(long, value_name = "NAME")]
    pub person: String,
    /// Why it may stand
    #[arg(long, value_name = "TEXT")]
    pub why: String,
}

/// An entry is crossed out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strike {
    /// Id of the entry.
    pub entry: EntryId,
    /// Why.
    pub why: String,
    /// Even if later entries depend on it: each of them becomes a defect.
    #[serde(skip)]
    pub anyway: bool,
}

/// A sum is kept: what went in and what came out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeepPlan {
    /// Name of the sum.
    pub sum: String,
    /// Id of the subject.
    pub subject: String,
    /// What went in.
    pub inputs: Value,
    /// What came out, as the command prints it.
    pub result: Value,
}

/// A photo of a subject; its bytes are kept beside the database. What is asked for is
/// [`AddPhotos`](crate::day::AddPhotos).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AddPhoto {
    /// Id of the subject.
    pub subject: String,
    /// Key of the step that it shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// Its name when it was recorded.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// What was kept of it.
    pub photo: PhotoFacts,
    /// What it shows, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// The key that signs packs from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UseKey {
    /// SHA-256 of the public key's DER form, lower-case hex.
    pub fingerprint: String,
}

/// A person confirmed what somebody else typed in their name: a release, a refusal, a closing, a concession.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConfirmSaying {
    /// The entry that says it.
    pub entry: EntryId,
    /// How they confirmed it.
    pub how: Confirmed,
}

/// How a person confirmed what was typed in their name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confirmed {
    /// They replied; the reply word for word.
    Reply(String),
    /// They signed paper that was scanned.
    SignedPaper {
        /// Name of the scan.
        file: String,
        /// SHA-256 of the scan, lower-case hex.
        sha256: String,
    },
    /// They signed the hash of the entry (its 64 digits as text) with a key of their own: Ed25519, RFC 8032.
    OwnKey {
        /// Their public key, PEM.
        public: String,
        /// The signature, lower-case hex.
        signature: String,
    },
}

/// A time-stamping authority stamped the hash of an entry: it, and all before it in its book, was there by then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakeStamp {
    /// The entry whose hash was stamped.
    pub entry: EntryId,
    /// The authority's answer (RFC 3161, `TimeStampResp`, DER) as it came, in base64.
    pub answer: String,
}

/// A phone is paired: what it records is by its person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PairPhone {
    /// Id of the phone.
    pub phone: String,
    /// Whose it is.
    pub person: String,
}

/// A paired phone is forgotten: it records nothing any more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ForgetPhone {
    /// Id of the phone.
    pub phone: String,
    /// Whose it was.
    pub person: String,
}

/// A remark on a subject.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddNote {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// The remark
    #[arg(long, value_name = "TEXT")]
    pub text: String,
}

/// A batch of a product comes onto site.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct DeliverBatch {
    /// What it is: panel, primer, sealant, tape, ...
    #[arg(long, value_name = "PRODUCT")]
    pub product: String,
    /// Batch number on the label
    #[arg(long, value_name = "LABEL")]
    pub batch: String,
    /// Its colour
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// How many came
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = Amount::typed)]
    pub count: Amount,
    /// What it is counted in [default: the product's usual unit]
    // In a request, empty stands for the usual one.
    #[arg(long, value_name = "UNIT", default_value = "", hide_default_value = true)]
    pub unit: String,
    /// The last day on which it may be used, as in 2026-11-30
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<NaiveDate>,
    /// How it came: whole, wet, corners chipped
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What became of stock that was taken.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    clap::ValueEnum,
    strum::IntoStaticStr,
)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum StockUse {
    /// It went to its subject.
    #[default]
    Used,
    /// Cut up for pieces that nothing else counts.
    CutUp,
    /// A piece of an off-cut went to its subject: nothing came off the stack for it.
    OffCut,
    /// Thrown away.
    ThrownAway,
    /// Sent back.
    SentBack,
}

impl StockUse {
    /// The word, as the record and the command line have it.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Whether it ended up on the building.
    pub fn is_on_the_wall(self) -> bool {
        matches!(self, Self::Used | Self::OffCut)
    }
}

/// Stock is taken otherwise than by a step.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct TakeStock {
    /// The product, where the label alone does not say
    // In a request, empty stands for the one product that was delivered under this label.
    #[arg(long, value_name = "PRODUCT", default_value = "", hide_default_value = true)]
    pub product: String,
    /// Batch number on the label
    #[arg(value_name = "BATCH")]
    pub batch: String,
    /// What it went to
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What became of it: used, cut-up, off-cut, thrown-away, sent-back
    #[arg(long = "as", value_name = "HOW", default_value = "used", value_enum, hide_possible_values = true)]
    pub how: StockUse,
    /// How many, on each subject; without it, what the subject takes by the job's geometry
    #[arg(long, value_name = "N", allow_negative_numbers = true, value_parser = Amount::typed)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<Amount>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Why it is recorded although a rule stops it.
    #[arg(skip)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anyway: Option<String>,
}

/// Work stops.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct StartStoppage {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What stopped it: rain, wind, no access, another trade, … [default with --rain: rain]
    // In a request, empty stands for the usual one.
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub cause: String,
    /// Who was notified, on the job or not
    #[arg(long = "told", num_args = 1.., value_name = "NAME")]
    #[serde(rename = "told", default, skip_serializing_if = "Vec::is_empty")]
    pub notified: Vec<String>,
    /// It is raining there until work resumes: whatever rain lapses, lapses
    #[arg(long)]
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub rain: bool,
    /// How many of the crew stand idle [default: everybody on site]
    #[arg(long, value_name = "N")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
}

/// Work resumes.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct EndStoppage {
    /// Id of the entry that started it [default: the only open one]
    // Always there in an entry.
    #[arg(value_name = "ID")]
    pub stoppage: Option<EntryId>,
    /// A remark
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Somebody asks for work beyond what was agreed.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct AddExtra {
    /// Where
    #[arg(long = "on", value_name = "SUBJECT", default_value = "job")]
    pub subject: String,
    /// What is asked for
    #[arg(long, value_name = "TEXT")]
    pub what: String,
    /// Who asked, on the job or not
    #[arg(long, value_name = "NAME")]
    pub asked_by: String,
    /// Who else was notified
    #[arg(long = "told", num_args = 1.., value_name = "NAME")]
    #[serde(rename = "told", default, skip_serializing_if = "Vec::is_empty")]
    pub notified: Vec<String>,
    /// Hours that it took or will take, of each of the people
    #[arg(long, value_name = "H", allow_negative_numbers = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    /// How many people
    #[arg(long, value_name = "N")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// How much, in --unit
    #[arg(long, value_name = "Q", allow_negative_numbers = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<f64>,
    /// The unit of the quantity: m2, m, each, …
    #[arg(long, value_name = "U")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}
