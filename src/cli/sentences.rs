//! Sentences that are put together: where something was, what was recorded and what came of it.

use crate::building::{Subject, Subjects};
use crate::day::{Mark, Phase, State, Thing};
use crate::journal::Recorded;
use crate::moment::Moment;

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

/// What was recorded, a line, and a line for each kind of thing that it opened or closed.
pub fn recorded_lines(recorded: &Recorded, what: &str, state: &State, now: Moment) -> Vec<String> {
    let mut lines = Vec::new();
    if let (Some(first), Some(last)) = (recorded.entries.first(), recorded.entries.last()) {
        let ids = if first.id == last.id { first.id.to_string() } else { format!("{} to {}", first.id, last.id) };
        let late = if first.late { ", recorded late" } else { "" };
        lines.push(format!("Recorded: {what}, {}{late} ({ids}).", first.happened_at.clock(now.date())));
    }
    lines.extend(mark_lines(&recorded.effects.opened, state, now, true));
    lines.extend(mark_lines(&recorded.effects.closed, state, now, false));
    lines.extend(recorded.warnings.iter().map(|warning| format!("  Note: {}.", warning.says)));
    lines
}

/// Marks that say the same of several subjects in one line.
fn mark_lines(marks: &[Mark], state: &State, now: Moment, opened: bool) -> Vec<String> {
    let mut groups: Vec<(String, Vec<usize>, String)> = Vec::new();
    for mark in marks {
        let Some((lead, subject, rest)) = mark_words(mark, state, now, opened) else { continue };
        match groups.iter_mut().find(|(l, _, r)| subject.is_some() && *l == lead && *r == rest) {
            Some((_, subjects, _)) => subjects.extend(subject),
            None => groups.push((lead, subject.into_iter().collect(), rest)),
        }
    }
    let line = |(lead, mut subjects, rest): (String, Vec<usize>, String)| {
        subjects.sort_unstable();
        format!("  {lead}{}{rest}", on_words(&state.subjects, &subjects))
    };
    groups.into_iter().map(line).collect()
}

/// A mark as what comes before its subject, its subject, and what comes after.
fn mark_words(mark: &Mark, state: &State, now: Moment, opened: bool) -> Option<(String, Option<usize>, String)> {
    let sequence = state.sequence();
    match &mark.thing {
        Thing::Window { window: key, subject } => {
            let window = sequence.windows.iter().position(|window| window.key == *key)?;
            let title = &sequence.windows[window].title;
            let lapsed = state.run(window, *subject).is_some_and(|run| run.phase(now) == Phase::Lapsed);
            let from = &sequence.steps[sequence.windows[window].from].title;
            Some(match (opened, lapsed) {
                (true, _) => ("Clock started".into(), Some(*subject), format!(": {}", mark.says)),
                (false, true) => ("Lapsed".into(), Some(*subject), format!(": {title}. Do '{from}' again")),
                (false, false) => ("Clock stopped".into(), Some(*subject), format!(": {title}")),
            })
        }
        Thing::Hold { hold, subject } => {
            // A hold point is opened by a refusal, by a strike, or because an edition brings it.
            let word = match (opened, sequence.hold(hold)) {
                (true, _) => "Held",
                (false, Some(_)) => "Released",
                (false, None) => "Dropped from the sequence",
            };
            Some((format!("{word}: hold point {hold}"), Some(*subject), String::new()))
        }
        Thing::Defect(id) => {
            let word = if opened { "opened" } else { "closed" };
            Some(match state.defect(id) {
                Some(defect) => {
                    (format!("Defect {word} on {}", the(&defect.subject)), None, format!(": {}", defect.what))
                }
                None => (format!("Defect {word}"), None, format!(": {}", mark.says)),
            })
        }
        // Whoever opens or closes a day or a stoppage says so.
        Thing::Day { .. } | Thing::Stoppage(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_it_was_is_said_of_every_kind_of_subject() {
        let job = include_str!("../../demo-db/job.toml");
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
