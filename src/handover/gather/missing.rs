//! What a job still lacks before it is complete.

use std::collections::BTreeMap;

use crate::building::SubjectIx;
use crate::day::{HoldState, Phase, State};
use crate::handover::model::{Missing, MissingKind, what_is_wrong, when};
use crate::moment::Moment;
use crate::sequence::StepIx;

/// What is missing at a moment, photos left out, what matters most first: open defects, hold points, steps, entries not
/// understood.
pub fn missing(state: &State, now: Moment) -> Vec<Missing> {
    let mut missing = Vec::new();
    for (number, defect) in (1..).zip(&state.defects).filter(|(_, defect)| defect.is_open()) {
        missing.push(Missing {
            kind: MissingKind::Defect,
            on: defect.subject.clone(),
            what: format!("Defect {number}: {}", what_is_wrong(state, defect)),
            status: format!("open since {}", when(&defect.opened_at)),
        });
    }
    for (_, _, hold) in state.holds() {
        let status = match (hold.state, hold.asked_at) {
            (HoldState::Released, _) => continue,
            (HoldState::Held, Some(asked)) => format!("not released; asked for {}", when(&asked)),
            (HoldState::Held, None) => "not released; not asked for yet".to_owned(),
            (HoldState::Refused, _) => format!("refused by {}", hold.person.as_deref().unwrap_or("somebody")),
        };
        missing.push(Missing {
            kind: MissingKind::Hold,
            on: hold.subject,
            what: format!("Hold point: {}", hold.title),
            status,
        });
    }
    missing.extend(steps(state, now));
    if !state.not_understood.is_empty() {
        let ids: Vec<String> = state.not_understood.iter().map(ToString::to_string).collect();
        missing.push(Missing {
            kind: MissingKind::Entry,
            on: "job".to_owned(),
            what: format!("Entries that this version of the program does not understand: {}", ids.join(", ")),
            status: "make the pack with the version that wrote them".to_owned(),
        });
    }
    missing
}

/// Where a step that is not complete stands, in the order in which they are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, strum::IntoStaticStr)]
enum Status {
    #[strum(serialize = "out of tolerance")]
    OutOfTolerance,
    #[strum(serialize = "its time limit passed: to be done again")]
    Lapsed,
    #[strum(serialize = "not done")]
    NotDone,
    #[strum(serialize = "to be done again")]
    Again,
}

/// Steps that are not complete, one line for those with the same status.
fn steps(state: &State, now: Moment) -> Vec<Missing> {
    let windows = &state.sequence().windows;
    let mut alike: BTreeMap<(StepIx, Status), Vec<SubjectIx>> = BTreeMap::new();
    for (step, subject) in state.work().filter(|(step, subject)| !state.complete(*step, *subject, now)) {
        let lapsed = || {
            let begun = windows.indexed().filter(|(_, window)| window.from == step);
            begun.filter_map(|(window, _)| state.run(window, subject)).any(|run| run.phase(now) == Phase::Lapsed)
        };
        let status = match state.done(step, subject).last() {
            None => Status::NotDone,
            Some(done) if done.is_out_of_tolerance() => Status::OutOfTolerance,
            Some(_) if lapsed() => Status::Lapsed,
            Some(_) => Status::Again,
        };
        alike.entry((step, status)).or_default().push(subject);
    }
    let line = |((step, status), subjects): ((StepIx, Status), Vec<SubjectIx>)| Missing {
        kind: MissingKind::Step,
        on: state.subjects.shortly(&subjects),
        what: state.sequence().steps[step].title.clone(),
        status: <&str>::from(status).to_owned(),
    };
    alike.into_iter().map(line).collect()
}
