//! Where something is, who is to be told of it: the words that every screen shares.

use chrono::NaiveDate;

use crate::building::{Subject, Subjects};
use crate::day::rules::release_waits_for;
use crate::day::state::State;
use crate::moment::Moment;
use crate::plain::count;

/// " on N/C1..12"; nothing for the job itself.
pub fn on_words(all: &Subjects, subjects: &[usize]) -> String {
    match subjects {
        [] => String::new(),
        [only] if *all.get(*only) == Subject::Job => String::new(),
        _ => format!(" on {}", all.shortly(subjects)),
    }
}

/// A subject in a sentence: the job has no key that one would say.
pub fn the(subject: &str) -> &str {
    if subject == "job" { "the job" } else { subject }
}

/// A wall and what there is for it: "N: 3 steps can be done".
pub fn wall_words(state: &State, wall: usize, steps: usize) -> String {
    format!("{}: {} can be done", state.subjects.get(wall), count(steps, "step"))
}

/// A date as a person reads it.
pub fn expiry(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

/// A short text for the phone of whoever may release it.
pub fn text_to_send(state: &State, key: &str, on: &str, now: Moment) -> String {
    let found = state.sequence().hold(key);
    let hold = found.map(|hold| &state.sequence().holds[hold]);
    let subjects = state.subjects.parse(on).unwrap_or_default();
    let to_go = |hold| subjects.iter().map(|subject| release_waits_for(state, hold, *subject, now).len()).sum();
    // Whoever comes for nothing comes late the next time.
    let ready = match found.map_or(0, to_go) {
        0 => "is ready for inspection.".to_owned(),
        steps => {
            format!("will be ready for inspection after {}. We'll let you know.", count(steps, "more step"))
        }
    };
    let (job, title, on) =
        (&state.job.name, hold.map_or(key, |hold| &hold.title), on_words(&state.subjects, &subjects));
    let look = hold.and_then(|hold| hold.look_at.as_ref()).map(|look| format!(" {look}")).unwrap_or_default();
    format!("Text to send: {job}: {title}{on} {ready}{look}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_it_was_is_said_of_every_kind_of_subject() {
        let job = include_str!("../../../demo-db/job.toml");
        let subjects = crate::building::read_job(job).unwrap().subjects();
        for (typed, on, in_a_sentence) in [
            ("job", "", "the job"),
            ("N", " on N", "N"),
            ("N,E", " on N, E", "N, E"),
            ("N/O1", " on N/O1", "N/O1"),
            ("NE", " on NE", "NE"),
            ("N/J1", " on N/J1", "N/J1"),
            ("N/J1,N/J2", " on N/J1..2", "N/J1..2"),
            ("N/C3", " on N/C3", "N/C3"),
        ] {
            let found = subjects.parse(typed).unwrap();
            assert_eq!(on_words(&subjects, &found), on);
            assert_eq!(the(&subjects.shortly(&found)), in_a_sentence);
        }
        assert_eq!(on_words(&subjects, &[]), "");
    }
}
