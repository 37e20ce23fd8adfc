//! What differs between a job and the same job as it is to be.

use std::collections::BTreeMap;

use serde_json::{Map, Value};

use super::job::Job;
use crate::units::number::show;

/// Lists of a job whose items have keys or names of their own, and what one item is called.
const LISTS: [(&str, &str); 6] = [
    ("figures", "figure"),
    ("walls", "wall"),
    ("openings", "opening"),
    ("corners", "corner"),
    ("people", "person"),
    ("papers", "paper"),
];

/// What differs, a line each: "wall N: height_mm was 2400, is now 2500", "wall N, opening O2 added".
pub fn changes(before: &Job, after: &Job) -> Vec<String> {
    let value = |job: &Job| serde_json::to_value(job).unwrap_or_default();
    let mut lines = Vec::new();
    compare("", &value(before), &value(after), &mut lines);
    lines
}

fn compare(name: &str, before: &Value, after: &Value, lines: &mut Vec<String>) {
    let none = Map::new();
    let (before, after) = (before.as_object().unwrap_or(&none), after.as_object().unwrap_or(&none));
    let keys = before.keys().chain(after.keys().filter(|key| !before.contains_key(*key)));
    for key in keys {
        let (old, new) = (before.get(key).unwrap_or(&Value::Null), after.get(key).unwrap_or(&Value::Null));
        if old == new {
            continue;
        }
        match LISTS.iter().find(|(list, _)| list == key) {
            Some((_, one)) => compare_lists(name, one, &keyed(old), &keyed(new), lines),
            None if key == "joints" => compare_lists(name, "joint", &numbered(old), &numbered(new), lines),
            None if old.is_object() && new.is_object() => compare(&part_of(name, key), old, new, lines),
            None => lines.push(field(name, key, old, new)),
        }
    }
}

type Items<'v> = Vec<(String, &'v Value)>;

/// The items of a list by their keys, or their names.
fn keyed(list: &Value) -> Items<'_> {
    let key =
        |item: &Value| item.get("key").or(item.get("name")).and_then(Value::as_str).unwrap_or_default().to_owned();
    list.as_array().into_iter().flatten().map(|item| (key(item), item)).collect()
}

/// The joints of a wall: J1, J2 and so on.
fn numbered(list: &Value) -> Items<'_> {
    (1..).zip(list.as_array().into_iter().flatten()).map(|(number, item)| (format!("J{number}"), item)).collect()
}

fn compare_lists(name: &str, one: &str, before: &Items<'_>, after: &Items<'_>, lines: &mut Vec<String>) {
    let old: BTreeMap<&str, &Value> = before.iter().map(|(key, item)| (key.as_str(), *item)).collect();
    let new: BTreeMap<&str, &Value> = after.iter().map(|(key, item)| (key.as_str(), *item)).collect();
    let called = |key: &str| part_of(name, &format!("{one} {key}"));
    for (key, item) in before {
        match new.get(key.as_str()) {
            Some(now) => compare(&called(key), item, now, lines),
            None => lines.push(format!("{} removed", called(key))),
        }
    }
    lines.extend(
        after
            .iter()
            .filter(|(key, _)| !old.contains_key(key.as_str()))
            .map(|(key, _)| format!("{} added", called(key))),
    );
    let kept = |items: &Items<'_>, others: &BTreeMap<&str, &Value>| -> Vec<String> {
        items.iter().map(|(key, _)| key.clone()).filter(|key| others.contains_key(key.as_str())).collect()
    };
    let (was, is) = (kept(before, &new), kept(after, &old));
    if was != is {
        let list = is.join(", ");
        lines.push(part_of(name, &format!("order is now {one} {list}")));
    }
}

fn part_of(name: &str, part: &str) -> String {
    if name.is_empty() { part.to_owned() } else { format!("{name}, {part}") }
}

fn field(name: &str, key: &str, old: &Value, new: &Value) -> String {
    let at = if name.is_empty() { key.to_owned() } else { format!("{name}: {key}") };
    match (old, new) {
        (Value::Null, new) => format!("{at} is now {}", in_words(new)),
        (old, Value::Null) => format!("{at} was {}, is no longer given", in_words(old)),
        (old, new) => format!("{at} was {}, is now {}", in_words(old), in_words(new)),
    }
}

fn in_words(value: &Value) -> String {
    match value {
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), show),
        Value::String(text) => text.clone(),
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(in_words).collect();
            format!("({})", items.join(", "))
        }
        Value::Object(fields) => {
            let fields: Vec<String> = fields.iter().map(|(key, value)| format!("{key} {}", in_words(value))).collect();
            fields.join(", ")
        }
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::building::read_job;

    const JOB: &str = r#"
        key = "j"
        name = "J"
        time_zone = "UTC"
        sequence = "panels-on-clips"
        person = [{ name = "Ana", roles = ["lead"] }]
        [[wall]]
        key = "N"
        courses = 2
        height_mm = 2400
        joints_mm = [1200]
        [[wall.opening]]
        kind = "window"
        [[wall]]
        key = "E"
        courses = 2
    "#;

    fn said(change: impl Fn(&mut Job)) -> Vec<String> {
        let before = read_job(JOB).unwrap();
        let mut after = before.clone();
        change(&mut after);
        changes(&before, &after)
    }

    #[test]
    fn each_change_is_a_line() {
        assert_eq!(said(|_| ()), [""; 0]);
        assert_eq!(said(|job| job.walls[0].height_mm = Some(2500.0)), ["wall N: height_mm was 2400, is now 2500"]);
        assert_eq!(said(|job| job.walls[0].bearing_deg = Some(12.5)), ["wall N: bearing_deg is now 12.5"]);
        assert_eq!(said(|job| job.walls[0].height_mm = None), ["wall N: height_mm was 2400, is no longer given"]);
        assert_eq!(said(|job| drop(job.walls.pop())), ["wall E removed"]);
        assert_eq!(said(|job| job.walls.reverse()), ["order is now wall E, N"]);
        assert_eq!(
            said(|job| {
                job.walls[0].openings[0].key = "O2".into();
                job.walls[0].joints[0].at_mm = Some(1000.0);
            }),
            ["wall N, joint J1: at_mm was 1200, is now 1000", "wall N, opening O1 removed", "wall N, opening O2 added"]
        );
        assert_eq!(
            said(|job| job.people[0].roles.push("installer".into())),
            ["person Ana: roles was (lead), is now (lead, installer)"]
        );
    }
}
