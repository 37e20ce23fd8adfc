//! The evening report: what became of a day, what it cost, and what comes next.

use chrono::NaiveDate;
use serde::{Serialize, Serializer};
use serde_json::Value;

use crate::accounts::StoppageRow;
use crate::day::{Defect, ExtraWork, Reading};
use crate::moment::Moment;
use crate::table::Row;

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
    /// Heat, dust and lifting as the day ended: each with its number and its basis.
    pub exposures: Vec<String>,
    /// What was done, step by step.
    pub done: Vec<StepOfDay>,
    /// How much became complete, by stage.
    pub measured: Vec<Measured>,
    /// Releases asked for, given and refused.
    pub holds: Vec<HoldOfDay>,
    /// Stoppages that touched the day.
    #[serde(serialize_with = "stoppages")]
    pub stoppages: Vec<StoppageRow>,
    /// Crew-hours lost to them on that day; time that two of them share is counted once.
    pub crew_hours_lost: f64,
    /// Extra work asked for.
    #[serde(serialize_with = "extras")]
    pub extras: Vec<ExtraWork>,
    /// Everything else that was recorded, in words.
    pub also: Vec<String>,
    /// Defects opened on that day.
    #[serde(serialize_with = "defects")]
    pub defects: Vec<Defect>,
    /// The night, tomorrow, and what is needed from others.
    #[serde(flatten)]
    pub ahead: Ahead,
    /// What people are said to have said on that day and had not confirmed by its end.
    pub to_confirm: Vec<String>,
    /// The same day as the builder is spoken to.
    #[serde(skip)]
    pub for_builder: ForBuilder,
    /// Days left by the job's own pace, or why they are not known.
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
    /// When they left, if that was before the day was closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_at: Option<Moment>,
    /// Hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// Site conditions read at one time, the same on some walls.
#[derive(Debug, Clone, Serialize)]
pub struct Weather {
    /// The walls, written short.
    pub on: String,
    /// The reading on the first of them.
    #[serde(flatten)]
    pub reading: Reading,
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
    /// How much; less than zero where something had to be opened again.
    pub quantity: f64,
}

/// Something that happened to a hold point.
#[derive(Debug, Clone, Serialize)]
pub struct HoldOfDay {
    /// Key.
    pub key: String,
    /// What is released.
    pub title: String,
    /// The subjects, written short.
    pub on: String,
    /// asked, released or refused.
    pub what: &'static str,
    /// When.
    pub at: Moment,
    /// By whom and how.
    pub says: String,
}

/// What a day holds for the builder, in words to them.
#[derive(Debug, Clone, Default)]
pub struct ForBuilder {
    /// What waits for them, what presses most first.
    pub to_do: Vec<String>,
    /// What is out of order and for the crew to put right.
    pub ours: Option<String>,
}

/// What lies ahead at the end of a day, in words.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Ahead {
    /// Work that is stopped.
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

fn stoppages<S: Serializer>(rows: &[StoppageRow], serializer: S) -> Result<S::Ok, S::Error> {
    let on = |row: &StoppageRow| vec![("on", row.stoppage.subject.clone())];
    rows_with(rows, on, serializer)
}

fn extras<S: Serializer>(rows: &[ExtraWork], serializer: S) -> Result<S::Ok, S::Error> {
    rows_with(rows, |row| vec![("on", row.subject.clone()), ("size", row.size())], serializer)
}

/// Rows as `--json` lists them, with fields more.
fn rows_with<R: Row, S: Serializer>(
    rows: &[R],
    more: impl Fn(&R) -> Vec<(&'static str, String)>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(rows.iter().map(|row| {
        let mut json = row.json();
        more(row).into_iter().for_each(|(key, value)| json[key] = Value::String(value));
        json
    }))
}

fn defects<S: Serializer>(defects: &[Defect], serializer: S) -> Result<S::Ok, S::Error> {
    let line = |it: &Defect| format!("{} on {} ({}): {}", it.id, it.subject, it.state.word(), it.what);
    serializer.collect_seq(defects.iter().map(line))
}
