//! What was recorded, in plain words: one line for the record, one for each sort of thing it opened or closed.

use crate::cli::site::Recorded;
use crate::day::{Mark, Phase, State};
use crate::moment::Moment;

/// The lines that tell about a record of `what`.
pub fn lines(recorded: &Recorded, what: &str, state: &State, now: Moment) -> Vec<String> {
    let mut lines = Vec::new();
    if let (Some(first), Some(last)) = (recorded.entries.first(), recorded.entries.last()) {
        let ids = if first.id == last.id { first.id.clone() } else { format!("{} to {}", first.id, last.id) };
        let late = if first.late { ", recorded late" } else { "" };
        lines.push(format!("Recorded: {what}, {}{late} ({ids}).", first.happened_at.clock(now.date())));
    }
    lines.extend(gathered(&recorded.effects.opened, state, now, true));
    lines.extend(gathered(&recorded.effects.closed, state, now, false));
    lines.extend(recorded.warnings.iter().map(|warning| format!("  Mind: {}.", warning.says)));
    lines
}

/// Marks that say the same of several subjects in one line.
fn gathered(marks: &[Mark], state: &State, now: Moment, opened: bool) -> Vec<String> {
    let mut groups: Vec<(String, Vec<usize>, String)> = Vec::new();
    for mark in marks {
        let Some((lead, subject, rest)) = in_words(mark, state, now, opened) else { continue };
        let alike = groups.iter_mut().find(|(l, _, r)| subject.is_some() && *l == lead && *r == rest);
        match (alike, subject) {
            (Some((_, subjects, _)), Some(subject)) => subjects.push(subject),
            (_, subject) => groups.push((lead, subject.into_iter().collect(), rest)),
        }
    }
    groups
        .into_iter()
        .map(|(lead, mut subjects, rest)| {
            subjects.sort_unstable();
            let on =
                if subjects.is_empty() { String::new() } else { format!(" on {}", state.subjects.shortly(&subjects)) };
            format!("  {lead}{on}{rest}")
        })
        .collect()
}

/// A mark as what comes before its subject, its subject, and what comes after.
fn in_words(mark: &Mark, state: &State, now: Moment, opened: bool) -> Option<(String, Option<usize>, String)> {
    let sequence = state.sequence();
    let placed = || {
        let (key, subject) = mark.id.rsplit_once(' ')?;
        Some((key, state.subjects.index(subject)?))
    };
    match mark.what {
        "window" => {
            let (key, subject) = placed()?;
            let window = sequence.windows.iter().position(|window| window.key == key)?;
            let title = &sequence.windows[window].title;
            let lapsed = state.run(window, subject).is_some_and(|run| run.phase(now) == Phase::Lapsed);
            let from = &sequence.steps[sequence.windows[window].from].title;
            Some(match (opened, lapsed) {
                (true, _) => ("Clock started".into(), Some(subject), format!(": {}", mark.says)),
                (false, true) => ("Lapsed".into(), Some(subject), format!(": {title}. '{from}' has to be done again")),
                (false, false) => ("Clock stopped".into(), Some(subject), format!(": {title}")),
            })
        }
        "hold" => {
            let (key, subject) = placed()?;
            let word = if opened { "Held again" } else { "Released" };
            Some((format!("{word}: hold point {key}"), Some(subject), String::new()))
        }
        "defect" => {
            let state_of_it = state.defect(&mark.id);
            let what = state_of_it.map_or(mark.says.clone(), |defect| format!("{} on {}", defect.what, defect.subject));
            let word = if opened { "opened" } else { "closed" };
            Some((format!("Defect {word}: {what} ({})", mark.id), None, String::new()))
        }
        // The day is told by whoever opens or closes it.
        _ => None,
    }
}
