//! What the job took, for the pack: stoppages, extra work, quantities and pace. Never prices: what the crew is paid
//! is told by `cladlog claim` alone.

use rust_decimal::Decimal;
use serde::Serialize;

use super::document::Document;
use super::sheets::{Block, Section, lines, table, text};
use super::text::{clock_on, when};
use crate::accounts::claim::number;
use crate::accounts::pace::Pace;
use crate::accounts::{Period, claim, pace, stood};
use crate::building::Unit;
use crate::day::{Book, ExtraWork, State, Stoppage};
use crate::moment::Moment;
use crate::units::number::{crew_hours, show};

/// What the job took.
#[derive(Debug, Clone, Serialize)]
pub struct Costs {
    /// Stoppages.
    pub stoppages: Vec<StoppageTold>,
    /// Crew-hours lost to them, time that two of them share counted once.
    pub crew_hours_lost: f64,
    /// Extra work.
    pub extras: Vec<ExtraTold>,
    /// What is complete, by part of the building and stage.
    pub quantities: Vec<QuantityTold>,
    /// Hours by stage, and what a crew-hour did.
    pub pace: Pace,
}

/// A stoppage.
#[derive(Debug, Clone, Serialize)]
pub struct StoppageTold {
    /// Id of the entry.
    pub entry: String,
    /// Where.
    pub subject: String,
    /// Why.
    pub cause: String,
    /// Who was told.
    pub told: Vec<String>,
    /// How many stood idle; everybody on site when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// Since when.
    pub started_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// Crew-hours lost to it.
    pub crew_hours_lost: f64,
    /// Remark at its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Extra work.
#[derive(Debug, Clone, Serialize)]
pub struct ExtraTold {
    /// Id of the entry.
    pub entry: String,
    /// Where.
    pub subject: String,
    /// When it was asked for.
    pub at: Moment,
    /// What.
    pub what: String,
    /// Who asked.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// How much, in words.
    pub size: String,
}

/// How much of a stage there is on a part of the building, and how much of it is complete.
#[derive(Debug, Clone, Serialize)]
pub struct QuantityTold {
    /// The wall, the corner, or `job`.
    pub part: String,
    /// Key of the stage.
    pub stage: String,
    /// Its title.
    pub title: String,
    /// What it is measured in.
    pub unit: Unit,
    /// All there is.
    #[serde(serialize_with = "number")]
    pub whole: Decimal,
    /// Of it complete.
    #[serde(serialize_with = "number")]
    pub complete: Decimal,
}

impl Costs {
    /// What a job took as far as a moment.
    pub(super) fn of(book: &Book, now: Moment) -> Self {
        let state = &book.state;
        let sum = stood(state, |_| true, now);
        // A record that was replayed once is replayed again.
        let lines = claim(book, &[], Period::default(), now).map(|claim| claim.lines).unwrap_or_default();
        Self {
            stoppages: sum.each.iter().map(|(one, lost)| stoppage(one, *lost)).collect(),
            crew_hours_lost: sum.total_h,
            extras: state.extras.iter().map(extra).collect(),
            quantities: lines
                .into_iter()
                .map(|line| QuantityTold {
                    part: line.part,
                    stage: line.stage,
                    title: line.title,
                    unit: line.unit,
                    whole: line.whole,
                    complete: line.so_far,
                })
                .collect(),
            pace: rounded(state, now),
        }
    }
}

fn stoppage(one: &Stoppage, lost: f64) -> StoppageTold {
    StoppageTold {
        entry: one.entry.to_string(),
        subject: one.subject.clone(),
        cause: one.cause.clone(),
        told: one.notified.clone(),
        people: one.people,
        started_at: one.started_at,
        ended_at: one.ended_at,
        crew_hours_lost: hundredth(lost),
        note: one.note.clone(),
    }
}

fn extra(one: &ExtraWork) -> ExtraTold {
    ExtraTold {
        entry: one.entry.to_string(),
        subject: one.subject.clone(),
        at: one.at,
        what: one.what.clone(),
        asked_by: one.asked_by.clone(),
        told: one.notified.clone(),
        size: one.size(),
    }
}

/// A hundredth is as fine as hours are told, and the same on every machine.
fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// The pace, its shares rounded.
fn rounded(state: &State, now: Moment) -> Pace {
    let mut pace = pace(state, now);
    let range = |range: &mut crate::accounts::pace::Range| {
        (range.low, range.high) = (hundredth(range.low), hundredth(range.high));
    };
    for stage in &mut pace.stages {
        stage.crew_hours = hundredth(stage.crew_hours);
        stage.per_crew_hour = stage.per_crew_hour.map(hundredth);
        // The quantities above add up rounded lines: to a tenth both say the same.
        stage.done = stage.done.map(tenth);
        stage.left = stage.left.map(tenth);
        stage.range.iter_mut().chain(stage.crew_hours_left.iter_mut()).for_each(range);
    }
    pace.crew_hours_lost = hundredth(pace.crew_hours_lost);
    pace.crew_hours_a_day = pace.crew_hours_a_day.map(hundredth);
    pace.days_left.iter_mut().for_each(range);
    pace
}

/// Stoppages and extra work.
pub(super) fn stoppages_and_extras(document: &Document) -> Section {
    let costs = &document.costs;
    let stopped = costs
        .stoppages
        .iter()
        .map(|one| {
            let until =
                one.ended_at.map_or("STILL OPEN".to_owned(), |at| format!("to {}", clock_on(&at, &one.started_at)));
            let idle = one.people.map_or("everybody on site".to_owned(), |people| format!("{people} idle"));
            vec![
                lines([when(&one.started_at), until]),
                one.subject.clone(),
                lines([one.cause.clone(), one.note.clone().unwrap_or_default()]),
                one.told.join(", "),
                lines([crew_hours(one.crew_hours_lost), idle]),
                one.entry.clone(),
            ]
        })
        .collect::<Vec<_>>();
    let many = stopped.len();
    let extras = costs
        .extras
        .iter()
        .map(|one| {
            vec![
                when(&one.at),
                one.subject.clone(),
                lines([one.what.clone(), one.size.clone()]),
                one.asked_by.clone(),
                one.told.join(", "),
                one.entry.clone(),
            ]
        })
        .collect();
    let mut blocks = vec![table(
        "Stoppages, and who was told",
        &[("When", 4), ("On", 2), ("Cause, remark", 6), ("Told", 3), ("Lost", 4), ("Entry", 3)],
        stopped,
        "Work never stood still, as far as the record says.",
    )];
    if many > 1 {
        let total = crew_hours(costs.crew_hours_lost);
        blocks.push(text(format!("{total} lost in all, time that two stoppages share counted once.")));
    }
    blocks.push(table(
        "Extra work, and who asked for it",
        &[("When", 4), ("On", 2), ("What, how much", 6), ("Asked by", 3), ("Told", 3), ("Entry", 3)],
        extras,
        "No extra work was asked for.",
    ));
    Section { id: "extras".to_owned(), title: "Stoppages and extra work".to_owned(), blocks }
}

/// Quantities and pace.
pub(super) fn quantities(document: &Document) -> Section {
    let pace = &document.costs.pace;
    let rows = document
        .costs
        .quantities
        .iter()
        .map(|one| {
            // What is counted on a wall are its openings; a corner is a part of its own.
            let on_wall = document.parts.iter().any(|part| part.key == one.part && part.wall.is_some());
            let many = |value: &Decimal| match one.unit {
                Unit::Each => {
                    let s = if *value == Decimal::ONE { "" } else { "s" };
                    format!("{} {}{s}", value.normalize(), if on_wall { "opening" } else { "corner" })
                }
                _ => format!("{value} {}", one.unit.sign()),
            };
            vec![one.part.clone(), one.title.clone(), many(&one.whole), many(&one.complete)]
        })
        .collect();
    let hours = pace
        .stages
        .iter()
        .filter(|stage| stage.crew_hours > 0.0)
        .map(|stage| {
            let sign = stage.unit.map(Unit::sign).unwrap_or_default();
            let with = |value: Option<f64>| value.map(|value| format!("{} {sign}", show(value))).unwrap_or_default();
            let range = stage.range.map(|range| format!("{} to {}", show(range.low), show(range.high)));
            vec![
                stage.title.clone(),
                show(stage.crew_hours),
                with(stage.done),
                with(stage.per_crew_hour),
                range.unwrap_or_default(),
            ]
        })
        .collect();
    let mut blocks = vec![
        table(
            "Work complete, by part of the building and stage",
            &[("On", 2), ("Stage", 6), ("In all", 3), ("Complete", 3)],
            rows,
            "Nothing can be measured: the job gives no lengths and heights.",
        ),
        text(
            "Square metres are of wall net of openings, metres are of joint. A part counts when every step that the \
             stage asks of it is complete.",
        ),
        table(
            "Crew-hours by stage",
            &[("Stage", 6), ("Crew-hours", 2), ("Done", 3), ("In a crew-hour", 3), ("Usually", 3)],
            hours,
            "No site day with hours and steps is closed.",
        ),
        text(
            "The hours of each closed day, less what stoppages took, are put down to the steps recorded in it by the \
             times between the records; so they are only as good as those times. 'Usually' is the middle half of the \
             stretches of work.",
        ),
    ];
    if !document.complete {
        let said = pace.in_words();
        let mut letters = said.chars();
        let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
        blocks.push(text(format!("{first}{}.", letters.as_str())));
    }
    if !pace.remarks.is_empty() {
        let items = pace.remarks.iter().map(|remark| crate::plain::visible(remark)).collect();
        blocks.push(Block::List { items });
    }
    Section { id: "quantities".to_owned(), title: "Quantities and hours".to_owned(), blocks }
}

/// The tables of the pack: name and rows, the headings first.
pub(super) fn tables(document: &Document) -> [(&'static str, Vec<Vec<String>>); 4] {
    let costs = &document.costs;
    let heading = |columns: &[&str]| vec![columns.iter().map(|column| (*column).to_owned()).collect::<Vec<_>>()];
    let some = |value: Option<f64>| value.map(show).unwrap_or_default();
    let mut stoppages =
        heading(&["entry", "subject", "started_at", "ended_at", "cause", "told", "people", "crew_hours_lost", "note"]);
    stoppages.extend(costs.stoppages.iter().map(|one| {
        vec![
            one.entry.clone(),
            one.subject.clone(),
            one.started_at.to_string(),
            one.ended_at.as_ref().map(Moment::to_string).unwrap_or_default(),
            one.cause.clone(),
            one.told.join("; "),
            one.people.map(|people| people.to_string()).unwrap_or_default(),
            show(one.crew_hours_lost),
            one.note.clone().unwrap_or_default(),
        ]
    }));
    let mut extras = heading(&["entry", "subject", "at", "what", "asked_by", "told", "how_much"]);
    extras.extend(costs.extras.iter().map(|one| {
        vec![
            one.entry.clone(),
            one.subject.clone(),
            one.at.to_string(),
            one.what.clone(),
            one.asked_by.clone(),
            one.told.join("; "),
            one.size.clone(),
        ]
    }));
    let mut quantities = heading(&["part", "stage", "title", "unit", "whole", "complete"]);
    quantities.extend(costs.quantities.iter().map(|one| {
        vec![
            one.part.clone(),
            one.stage.clone(),
            one.title.clone(),
            one.unit.to_string(),
            one.whole.to_string(),
            one.complete.to_string(),
        ]
    }));
    let mut pace = heading(&["stage", "title", "crew_hours", "unit", "done", "per_crew_hour", "slow", "fast"]);
    pace.extend(costs.pace.stages.iter().map(|stage| {
        vec![
            stage.stage.clone(),
            stage.title.clone(),
            show(stage.crew_hours),
            stage.unit.map(|unit| unit.to_string()).unwrap_or_default(),
            some(stage.done),
            some(stage.per_crew_hour),
            some(stage.range.map(|range| range.low)),
            some(stage.range.map(|range| range.high)),
        ]
    }));
    [("stoppages", stoppages), ("extras", extras), ("quantities", quantities), ("pace", pace)]
}
