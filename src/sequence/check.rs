//! Checks across a sequence file: keys that stand twice, names that nothing defines, circles.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{Hold, Step};
use crate::building::SubjectKind;
use crate::form::{Section, nearest};

/// Most stages, hold points, windows, limits, cautions or documents in a file.
const MOST_PARTS: usize = 500;
/// Most steps in a file.
const MOST_STEPS: usize = 2000;

/// Notes a file of absurd size, which isn't read further.
pub(super) fn too_many(top: &Section<'_, '_>) -> bool {
    let tables = ["document", "caution", "stage", "hold", "window", "limit", "allowance"];
    let parts = tables.map(|table| (table, top.tables(table)));
    let steps: usize = parts[2].1.iter().map(|stage| stage.tables("step").len()).sum();
    let over = parts.iter().find(|(_, sections)| sections.len() > MOST_PARTS);
    let message = match over {
        Some((table, sections)) => format!("{} tables called '{table}': at most {MOST_PARTS}", sections.len()),
        None if steps > MOST_STEPS => format!("{steps} steps: at most {MOST_STEPS}"),
        None => return false,
    };
    top.mistake(top.spot(), message);
    true
}

/// Every key that the file defines, by kind, and where stages lead to steps.
pub(super) struct Keys {
    /// Steps in the order of the file.
    steps: Vec<String>,
    /// What each is done to; none where the file has a wrong word.
    on: Vec<Option<SubjectKind>>,
    /// A stage's key to the indexes of its steps.
    stages: BTreeMap<String, Vec<usize>>,
    cautions: Vec<String>,
    limits: Vec<String>,
}

impl Keys {
    /// Gathers the keys, and notes those that stand twice.
    pub(super) fn gather(top: &Section<'_, '_>) -> Self {
        let mut keys = Self {
            steps: vec![],
            on: vec![],
            stages: BTreeMap::new(),
            cautions: list(top, "caution"),
            limits: list(top, "limit"),
        };
        list(top, "hold");
        list(top, "window");
        list(top, "document");
        for stage in top.tables("stage") {
            let mut own = Vec::new();
            for step in stage.tables("step") {
                let key = step.text("key");
                // A key that is missing or no text is noted already.
                let twice =
                    !key.is_empty() && (keys.steps.iter().any(|other| other == key) || keys.stages.contains_key(key));
                if twice {
                    step.mistake(
                        step.spot_of("key"),
                        format!("'{key}' stands twice: steps and stages need keys of their own"),
                    );
                }
                own.push(keys.steps.len());
                keys.steps.push(key.to_owned());
                keys.on.push(step.text("on").parse().ok());
            }
            let key = stage.text("key");
            if !key.is_empty() && (keys.stages.contains_key(key) || keys.steps.iter().any(|step| step == key)) {
                stage.mistake(
                    stage.spot_of("key"),
                    format!("'{key}' stands twice: steps and stages need keys of their own"),
                );
            }
            keys.stages.insert(key.to_owned(), own);
        }
        keys
    }

    pub(super) fn step_name(&self, index: usize) -> &str {
        self.steps.get(index).map_or("", String::as_str)
    }

    /// What a step is done to, where the file says it right.
    pub(super) fn step_on(&self, index: usize) -> Option<SubjectKind> {
        self.on.get(index).copied().flatten()
    }

    /// The step that a field names.
    pub(super) fn step_of(&self, section: &Section<'_, '_>, field: &str) -> Option<usize> {
        let key = section.text_or_none(field)?;
        let found = self.steps.iter().position(|step| step == key);
        if found.is_none() {
            let known: Vec<&str> = self.steps.iter().map(String::as_str).collect();
            section.mistake(section.spot_of(field), nothing_defines("step", key, &known));
        }
        found
    }

    /// The steps that a list of steps and stages names, stages opened up.
    pub(super) fn steps_of(&self, section: &Section<'_, '_>, field: &str) -> Vec<usize> {
        let mut found = Vec::new();
        let mut seen = BTreeSet::new();
        for (key, spot) in section.texts(field) {
            let indexes: Vec<usize> = match (self.stages.get(key), self.steps.iter().position(|step| step == key)) {
                (Some(steps), _) => steps.clone(),
                (None, Some(step)) => vec![step],
                (None, None) => {
                    let known: Vec<&str> = self.steps.iter().chain(self.stages.keys()).map(String::as_str).collect();
                    section.mistake(spot, nothing_defines("step or stage", key, &known));
                    continue;
                }
            };
            found.extend(indexes.into_iter().filter(|index| seen.insert(*index)));
        }
        found
    }

    /// The cautions that a list names.
    pub(super) fn cautions_of(&self, section: &Section<'_, '_>, field: &str) -> Vec<usize> {
        indexes_of(section, field, "caution", &self.cautions)
    }

    /// The limits that a list names.
    pub(super) fn limits_of(&self, section: &Section<'_, '_>, field: &str) -> Vec<usize> {
        indexes_of(section, field, "limit", &self.limits)
    }
}

fn list(top: &Section<'_, '_>, table: &str) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for section in top.tables(table) {
        let key = section.text("key").to_owned();
        if keys.contains(&key) && !key.is_empty() {
            section.mistake(section.spot_of("key"), format!("{table} '{key}' stands twice"));
        }
        keys.push(key);
    }
    keys
}

fn indexes_of(section: &Section<'_, '_>, field: &str, word: &str, keys: &[String]) -> Vec<usize> {
    let mut found = Vec::new();
    for (key, spot) in section.texts(field) {
        match keys.iter().position(|known| known == key) {
            Some(index) => found.push(index),
            None => {
                let known: Vec<&str> = keys.iter().map(String::as_str).collect();
                section.mistake(spot, nothing_defines(word, key, &known));
            }
        }
    }
    found
}

fn nothing_defines(word: &str, key: &str, known: &[&str]) -> String {
    // Among thousands of names a near one takes long to find and helps nobody.
    let hint =
        (known.len() <= 1000).then(|| nearest(key, known)).flatten().map(|near| format!("did you mean '{near}'?"));
    format!("no {word} is called '{key}': {}", hint.unwrap_or_else(|| "define it, or name one that is there".into()))
}

/// The roles that a list names; each must be one of the sequence's.
pub(super) fn roles(section: &Section<'_, '_>, field: &str, roles: &[String]) -> Vec<String> {
    let named = section.texts(field);
    if section.has(field) && named.is_empty() {
        section.mistake(section.spot_of(field), format!("'{field}' names at least one role"));
    }
    for (role, spot) in &named {
        // Without any roles the missing list is the mistake, not each name.
        if !roles.is_empty() && !roles.iter().any(|known| known == role) {
            section.mistake(
                *spot,
                format!("'{role}' is not one of the roles: add it to 'roles', or name one that is there"),
            );
        }
    }
    named.into_iter().map(|(role, _)| role.to_owned()).collect()
}

/// A window's latest must not be before its earliest.
pub(super) fn bounds_in_order(section: &Section<'_, '_>) {
    if let (Some(earliest), Some(latest)) = (section.span("earliest"), section.span("latest"))
        && latest < earliest
    {
        section.mistake(
            section.spot_of("latest"),
            "'latest' is before 'earliest': the window could never be met; swap them or mend one",
        );
    }
}

/// Notes every circle of `after`, once, at the step where it is closed; says whether there was one.
pub(super) fn circles(top: &Section<'_, '_>, steps: &[Step]) -> bool {
    let mut found = false;
    let sections: Vec<Section<'_, '_>> = top.tables("stage").iter().flat_map(|stage| stage.tables("step")).collect();
    // 0 not seen, 1 on the path, 2 done; depth first, without recursion so that a long file can't exhaust the stack.
    let mut seen = vec![0u8; steps.len()];
    for start in 0..steps.len() {
        let mut path: Vec<(usize, usize)> = vec![(start, 0)];
        if seen[start] != 0 {
            continue;
        }
        seen[start] = 1;
        while let Some((at, next)) = path.pop() {
            match steps[at].after.get(next) {
                None => seen[at] = 2,
                Some(&before) => {
                    path.push((at, next + 1));
                    match seen.get(before) {
                        Some(0) => {
                            seen[before] = 1;
                            path.push((before, 0));
                        }
                        Some(1) => {
                            let from = path.iter().position(|(step, _)| *step == before).unwrap_or(0);
                            let round: Vec<&str> =
                                path[from..].iter().map(|(step, _)| steps[*step].key.as_str()).collect();
                            found = true;
                            if let Some(section) = sections.get(at) {
                                section.mistake(
                                    section.spot_of("after"),
                                    format!(
                                        "a circle: {} after {}; take one 'after' out",
                                        round.join(" after "),
                                        steps[before].key
                                    ),
                                );
                            }
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    found
}

/// Notes every hold point that waits for a step which, by `after` or another hold point, waits for what it holds.
pub(super) fn hold_circles(top: &Section<'_, '_>, steps: &[Step], holds: &[Hold]) {
    // What a step waits for besides its `after`: the hold points that hold it.
    let mut held_by: Vec<Vec<&Hold>> = vec![vec![]; steps.len()];
    for hold in holds {
        for step in &hold.holds {
            if let Some(held_by) = held_by.get_mut(*step) {
                held_by.push(hold);
            }
        }
    }
    for (hold, section) in holds.iter().zip(top.tables("hold")) {
        // A step named on both sides has a message of its own.
        let begun = hold.after.iter().filter(|step| !hold.holds.contains(step));
        let mut to_do: Vec<(usize, usize)> = begun.map(|step| (*step, *step)).collect();
        let mut seen = vec![false; steps.len()];
        while let Some((at, named)) = to_do.pop() {
            let Some(step) = steps.get(at) else { continue };
            if std::mem::replace(&mut seen[at], true) {
                continue;
            }
            if hold.holds.contains(&at) {
                let message = format!(
                    "a circle: it waits for '{}', which waits for '{}', which it holds: it could never be released",
                    steps[named].key, step.key
                );
                section.mistake(section.spot_of("after"), message);
                break;
            }
            let through_holds = held_by[at].iter().flat_map(|hold| &hold.after);
            to_do.extend(step.after.iter().chain(through_holds).map(|before| (*before, named)));
        }
    }
}
