//! Where something is, who is to be told of it: the words that every screen shares.

use super::tasks::WallWork;
use crate::building::{self, SubjectIx, Subjects};
use crate::day::facts::Defect;
use crate::day::rules::release_waits_for;
use crate::day::state::State;
use crate::moment::Moment;
use crate::plain::count;

/// " on N/C1..12"; nothing for the job itself.
pub fn on_words(all: &Subjects, subjects: &[SubjectIx]) -> String {
    if subjects.is_empty() { String::new() } else { building::on_words(&all.shortly(subjects)) }
}

/// A subject in a sentence: the job has no key that one would say.
pub fn the(subject: &str) -> &str {
    if subject == "job" { "the job" } else { subject }
}

/// A wall and what there is for it: "N: 3 steps can be done, 1 hold point can be released".
pub fn wall_words(state: &State, work: WallWork) -> String {
    let steps = (work.steps > 0).then(|| format!("{} can be done", count(work.steps, "step")));
    let holds = (work.holds > 0).then(|| format!("{} can be released", count(work.holds, "hold point")));
    let parts: Vec<String> = steps.into_iter().chain(holds).collect();
    format!("{}: {}", state.subjects.get(work.wall), parts.join(", "))
}

/// "2 defects are still open on N": on a wall and all of its parts, or on the whole job. Nothing where none is.
pub fn still_open(state: &State, on: &str) -> Option<String> {
    let is_here = |defect: &&Defect| on == "job" || defect.subject.split('/').next() == Some(on);
    let open = state.open_defects().filter(is_here).count();
    let are = if open == 1 { "is" } else { "are" };
    (open > 0).then(|| format!("{} {are} still open{}", count(open, "defect"), building::on_words(on)))
}

/// A short text for the phone of whoever may release it.
pub fn text_to_send(state: &State, key: &str, on: &str, now: Moment) -> String {
    let found = state.sequence().hold(key);
    let hold = found.map(|hold| &state.sequence().holds[hold]);
    let subjects = state.subjects.parse(on).unwrap_or_default();
    let to_go = |hold| subjects.iter().map(|subject| release_waits_for(state, hold, *subject, now).len()).sum();
    let (job, title, on) =
        (&state.job.name, hold.map_or(key, |hold| &hold.title), on_words(&state.subjects, &subjects));
    let look = hold.and_then(|hold| hold.look_at.as_ref()).map(|look| format!(" {look}")).unwrap_or_default();
    match found.map_or(0, to_go) {
        0 => format!("{job}: ready for inspection: {title}{on}.{look}"),
        // Whoever comes for nothing comes late the next time.
        steps => {
            let left = count(steps, "more step");
            format!("{job}: ready for inspection after {left}: {title}{on}. We'll let you know.{look}")
        }
    }
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
