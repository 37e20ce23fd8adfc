//! What a job still lacks before it is complete.

use std::collections::BTreeMap;

use crate::day::{DefectState, HoldState, Phase, State};
use crate::handover::model::{Missing, when};
use crate::moment::Moment;

/// What is missing at a moment, what weighs most first: open defects, hold points, steps, entries not understood.
pub fn missing(state: &State, now: Moment) -> Vec<Missing> {
    let mut missing = Vec::new();
    for (defect, number) in state.defects.iter().zip(1..).filter(|(defect, _)| defect.state == DefectState::Open) {
        let stands = format!("open since {}", when(&defect.opened_at));
        let what = format!("Defect {number}: {}", defect.what);
        missing.push(Missing { sort: "defect", on: defect.subject.clone(), what, stands });
    }
    for (hold, subject, life) in state.holds() {
        let stands = match life.state {
            HoldState::Released => continue,
            HoldState::Held => match life.asked_at {
                Some(asked) => format!("not released; asked for {}", when(&asked)),
                None => "not released; not asked for yet".to_owned(),
            },
            HoldState::Refused => {
                format!("refused by {}", life.person.as_deref().unwrap_or("somebody"))
            }
        };
        let what = format!("Hold point: {}", state.sequence().holds[hold].title);
        missing.push(Missing { sort: "hold", on: state.subjects.get(subject).to_string(), what, stands });
    }
    missing.extend(steps(state, now));
    if !state.not_understood.is_empty() {
        missing.push(Missing {
            sort: "entry",
            on: "job".to_owned(),
            what: format!(
                "Entries that this version of the program does not understand: {}",
                state.not_understood.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
            ),
            stands: "make the pack with the version that wrote them".to_owned(),
        });
    }
    missing
}

/// Steps not complete, those that stand alike together.
pub fn steps(state: &State, now: Moment) -> Vec<Missing> {
    let sequence = state.sequence();
    let mut alike: BTreeMap<(usize, u8), Vec<usize>> = BTreeMap::new();
    for (step, subject) in state.work() {
        if state.complete(step, subject, now) {
            continue;
        }
        let lapsed = sequence
            .windows
            .iter()
            .enumerate()
            .filter(|(_, window)| window.from == step)
            .filter_map(|(window, _)| state.run(window, subject))
            .any(|run| run.phase(now) == Phase::Lapsed);
        let how = match state.done(step, subject).last() {
            None => 2,
            Some(done) if done.is_out_of_tolerance() => 0,
            Some(_) if lapsed => 1,
            Some(_) => 3,
        };
        alike.entry((step, how)).or_default().push(subject);
    }
    alike
        .into_iter()
        .map(|((step, how), subjects)| Missing {
            sort: "step",
            on: state.subjects.shortly(&subjects),
            what: sequence.steps[step].title.clone(),
            stands: match how {
                0 => "out of tolerance",
                1 => "its time ran out: to be done again",
                2 => "not done",
                _ => "to be done again",
            }
            .to_owned(),
        })
        .collect()
}
