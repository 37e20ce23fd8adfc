//! Where the lead stands.

use crate::building::{Subject, SubjectIx, Subjects};
use crate::cli::failure::Failure;

/// The wall that a person typed.
pub fn wall_named(subjects: &Subjects, key: &str) -> Result<SubjectIx, Failure> {
    let walls = subjects.all_walls().iter().filter(|wall| subjects.get(**wall).to_string().eq_ignore_ascii_case(key));
    // Small letters do, where only one wall is meant.
    if let [only] = walls.copied().collect::<Vec<SubjectIx>>()[..] {
        return Ok(only);
    }
    let found = subjects.parse(key).map_err(Failure::input)?;
    match found.as_slice() {
        [only] if matches!(subjects.get(*only), Subject::Wall(_)) => Ok(*only),
        _ => Err(Failure::input(format!("'{key}' is not a wall: type one of {}", keys(subjects)))),
    }
}

/// The subjects that a person means among those that are asked for: `N/C1..3`, or for short `C1..3`, `c3` or `3`.
///
/// The error says what to type instead.
pub fn among(list: &Subjects, all: &[SubjectIx], text: &str) -> Result<Vec<SubjectIx>, String> {
    let Some(first) = all.first().map(|first| list.get(*first)) else { return Err("nothing is asked for".to_owned()) };
    let (wall, id) = (first.wall().unwrap_or_default(), first.to_string());
    let stem = id.trim_end_matches(|c: char| c.is_ascii_digit());
    let mut found = Vec::new();
    for item in text.split([',', ' ']).filter(|item| !item.is_empty()) {
        let short = [format!("{wall}/{}", item.to_uppercase()), format!("{stem}{item}")];
        let some = list.parse(item).or_else(|error| {
            short
                .iter()
                .find_map(|id| list.parse(id).ok())
                .ok_or_else(|| format!("{error}; type some of {}", list.shortly(all)))
        })?;
        if !some.iter().all(|subject| all.contains(subject)) {
            return Err(format!("{} is not asked for: type some of {}", list.shortly(&some), list.shortly(all)));
        }
        found.extend(some);
    }
    found.sort_unstable();
    found.dedup();
    if found.is_empty() { Err(format!("type some of {}", list.shortly(all))) } else { Ok(found) }
}

fn keys(subjects: &Subjects) -> String {
    let keys: Vec<String> = subjects.all_walls().iter().map(|wall| subjects.get(*wall).to_string()).collect();
    keys.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_what_is_asked_for_some_are_meant_by_their_numbers_or_ids() {
        let subjects = crate::building::read_job(include_str!("../../../demo-db/job.toml")).unwrap().subjects();
        let all = subjects.parse("N/C2..6").unwrap();
        let meant = |text: &str| among(&subjects, &all, text).map(|found| subjects.shortly(&found));
        for (text, found) in [
            ("3", "N/C3"),
            ("c3", "N/C3"),
            ("C3", "N/C3"),
            ("N/C3", "N/C3"),
            ("5 3", "N/C3, N/C5"),
            ("2..4", "N/C2..4"),
            ("C2..4,N/C6", "N/C2..4, N/C6"),
        ] {
            assert_eq!(meant(text).as_deref(), Ok(found), "{text}");
        }
        // Another wall's course is not this wall's of the same number, nor is a joint.
        for text in ["E/C3", "J1", "1", "7", "C1..3", "", "x"] {
            assert!(meant(text).is_err(), "{text}");
        }
    }
}
