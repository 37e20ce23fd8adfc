//! Stoppages, extra work, quantities and pace.

use crate::handover::model::Document;
use crate::moment::Moment;
use crate::units::number::show;

/// The tables of the pack: name and rows, the headings first.
pub fn tables(document: &Document) -> [(&'static str, Vec<Vec<String>>); 4] {
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
