//! The evening report: what became of a day, what it cost, and what comes next.

use chrono::NaiveDate;
use serde::Serialize;

use crate::moment::Moment;

/// A day in the record.
#[derive(Debug, Clone, Serialize)]
pub struct Evening {
    /// The day.
    pub date: NaiveDate,
    /// Name of the job.
    pub job: String,
    /// Where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// The moment as of which it speaks: when the day was closed, or its end.
    pub as_of: Moment,
    /// Something was written under a rehearsal clock.
    pub rehearsal: bool,
    /// Who was on site, and the hours each worked, when the day was closed.
    pub crew: Vec<Worked>,
    /// Hours of all together.
    pub hours: f64,
    /// A day of that date was opened and not closed.
    pub open: bool,
    /// The pre-start talk.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub talk: Option<String>,
    /// Hazards.
    pub hazards: Vec<String>,
    /// Remarks at closing.
    pub remarks: Vec<String>,
    /// Readings of site conditions.
    pub weather: Vec<Weather>,
    /// Heat, dust and lifting as the day ended: each with its number and what it rests on.
    pub exposures: Vec<String>,
    /// What was done, step by step.
    pub done: Vec<StepOfDay>,
    /// How much became complete, by stage.
    pub measured: Vec<Measured>,
    /// Releases asked for, given and refused.
    pub holds: Vec<HoldOfDay>,
    /// Stoppages that touched the day.
    pub stoppages: Vec<StoppageOfDay>,
    /// Crew-hours lost to them on that day, time that two of them share counted once.
    pub crew_hours_lost: f64,
    /// Extra work asked for.
    pub extras: Vec<ExtraOfDay>,
    /// Everything else that was recorded, in words.
    pub also: Vec<String>,
    /// Defects opened on that day, in words.
    pub defects: Vec<String>,
    /// The night, tomorrow, and what is needed from others.
    #[serde(flatten)]
    pub ahead: Ahead,
    /// Days left by the job's own pace, or why they can't be told.
    pub pace: String,
    /// The head code of the book of the file that made it: with it anybody can check later that nothing recorded by then
    /// was changed or left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head: Option<String>,
}

/// One person's day.
#[derive(Debug, Clone, Serialize)]
pub struct Worked {
    /// Name.
    pub name: String,
    /// Since when.
    pub since: Moment,
    /// Hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// Site conditions read at one time, alike on some walls.
#[derive(Debug, Clone, Serialize)]
pub struct Weather {
    /// When.
    pub at: Moment,
    /// The walls, written short.
    pub on: String,
    /// Air, °C.
    pub air_c: f64,
    /// Relative humidity, %.
    pub humidity_pct: f64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Wind, km/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Rain.
    pub rain: bool,
}

/// A step of the day, with the subjects it was done on.
#[derive(Debug, Clone, Serialize)]
pub struct StepOfDay {
    /// Key of the step.
    pub step: String,
    /// Its title.
    pub title: String,
    /// The subjects, written short.
    pub on: String,
}

/// What became complete of a stage.
#[derive(Debug, Clone, Serialize)]
pub struct Measured {
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// m2, m or each.
    pub unit: &'static str,
    /// How much; less than nought where something had to be opened again.
    pub quantity: f64,
}

/// Something that happened to a hold point.
#[derive(Debug, Clone, Serialize)]
pub struct HoldOfDay {
    /// Key.
    pub key: String,
    /// The subjects, written short.
    pub on: String,
    /// asked, released or refused.
    pub what: &'static str,
    /// When.
    pub at: Moment,
    /// By whom and how.
    pub says: String,
}

/// A stoppage.
#[derive(Debug, Clone, Serialize)]
pub struct StoppageOfDay {
    /// Id of the entry.
    pub id: String,
    /// Where.
    pub on: String,
    /// Why.
    pub cause: String,
    /// Who was told.
    pub told: Vec<String>,
    /// Since when.
    pub started_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Crew-hours lost to it so far.
    pub crew_hours_lost: f64,
}

/// Extra work.
#[derive(Debug, Clone, Serialize)]
pub struct ExtraOfDay {
    /// Id of the entry.
    pub id: String,
    /// Where.
    pub on: String,
    /// What.
    pub what: String,
    /// Who asked.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// How much work, in words.
    pub size: String,
}

/// What lies ahead at the end of a day, in words.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Ahead {
    /// Work that stands still.
    pub stopped: Vec<String>,
    /// Windows that close before anybody is back.
    pub lapsing: Vec<String>,
    /// Edges left open to rain.
    pub open_to_rain: Vec<String>,
    /// What of the materials is running out or going off.
    #[serde(rename = "stock", skip_serializing_if = "Vec::is_empty")]
    pub materials: Vec<String>,
    /// What can be done first.
    pub tomorrow: Vec<String>,
    /// What is needed from others.
    pub needed: Vec<String>,
}
