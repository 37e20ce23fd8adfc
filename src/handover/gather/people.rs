//! People, site days, cautions and papers.

use crate::day::State;
use crate::handover::model::{Acknowledged, DayWorked, HeldPaper, OnSite, PersonTold};

pub fn people(state: &State) -> Vec<PersonTold> {
    let told = |person: &crate::building::Person| PersonTold {
        name: person.name.clone(),
        roles: person.roles.clone(),
        // Not -0 for those who worked none.
        hours: state.days.iter().filter_map(|day| day.hours.get(&person.name)).fold(0.0, |sum, hours| sum + hours),
    };
    state.job.people.iter().map(told).collect()
}

pub fn days(state: &State) -> Vec<DayWorked> {
    let told = |day: &crate::day::Day| {
        let mut crew: Vec<OnSite> = day
            .crew
            .iter()
            .map(|(name, since)| OnSite { name: name.clone(), since: *since, hours: day.hours.get(name).copied() })
            .collect();
        let others = day.hours.iter().filter(|(name, _)| day.crew.iter().all(|(known, _)| known != *name));
        crew.extend(others.map(|(name, hours)| OnSite {
            name: name.clone(),
            since: day.opened_at,
            hours: Some(*hours),
        }));
        DayWorked {
            date: day.date.to_string(),
            opened_at: day.opened_at,
            closed_at: day.closed_at,
            crew,
            talk: day.talk.clone(),
            hazards: day.hazards.clone(),
            note: day.note.clone(),
        }
    };
    state.days.iter().map(told).collect()
}

pub fn cautions(state: &State) -> Vec<Acknowledged> {
    let mut told = Vec::new();
    for day in &state.days {
        let all = day.acknowledged.iter().flat_map(|(caution, by)| by.iter().map(move |(who, at)| (caution, who, at)));
        for (caution, person, at) in all {
            let title = state
                .editions
                .iter()
                .rev()
                .find_map(|edition| edition.caution(caution).map(|index| edition.cautions[index].title.clone()));
            told.push(Acknowledged {
                date: day.date.to_string(),
                caution: caution.clone(),
                title: title.unwrap_or_else(|| caution.clone()),
                person: person.clone(),
                at: *at,
            });
        }
    }
    told
}

pub fn papers(state: &State) -> Vec<HeldPaper> {
    let held = |key: &str| state.job.papers.iter().find(|paper| paper.key == key);
    let documents = &state.sequence().documents;
    let mut told: Vec<HeldPaper> = documents
        .iter()
        .map(|document| HeldPaper {
            key: document.key.clone(),
            asked: document.title.clone(),
            held: held(&document.key).map(|paper| paper.title.clone()),
        })
        .collect();
    let others = state.job.papers.iter().filter(|paper| documents.iter().all(|document| document.key != paper.key));
    told.extend(others.map(|paper| HeldPaper {
        key: paper.key.clone(),
        asked: String::new(),
        held: Some(paper.title.clone()),
    }));
    told
}
