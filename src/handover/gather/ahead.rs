//! What the night and tomorrow hold: windows that close, edges left open to rain, the first things to do, and what
//! is needed from others.

use chrono::TimeDelta;

use crate::building::SubjectIx;
use crate::day::{Defect, HoldState, OpenEdge, Phase, State, Urgency, next, release_waits_for, the};
use crate::handover::model::{Ahead, what_is_wrong};
use crate::moment::Moment;
use crate::plain::count;
use crate::refusal::Rule;
use crate::sequence::{HoldIx, StepIx};
use crate::table::grouped;

/// Nobody is on site again before so much time has passed.
const NIGHT: TimeDelta = TimeDelta::hours(16);

/// How many first tasks of tomorrow are listed.
const FIRST: usize = 8;

/// How many open defects are listed one by one.
const DEFECTS: usize = 6;

impl Ahead {
    /// What lies ahead at a moment.
    pub fn of(state: &State, now: Moment) -> Self {
        Self {
            stopped: state.open_stoppages().map(|one| one.standing(now)).collect(),
            lapsing: closing(state, now),
            open_to_rain: open_edges(state, now),
            materials: materials(state, now),
            tomorrow: tomorrow(state, now),
            needed: needed(state, now),
        }
    }
}

/// Windows that close before anybody is back.
fn closing(state: &State, now: Moment) -> Vec<String> {
    let mut closing = Vec::new();
    for run in state.runs().iter().filter(|run| !matches!(run.phase(now), Phase::Lapsed | Phase::Met)) {
        if let Some(closes) = run.closes_at.filter(|closes| *closes <= now + NIGHT) {
            let (on, title) = (state.subjects.get(run.subject), &run.window.title);
            closing.push(format!("{on}: {title}, closes {}", closes.clock(now.date())));
        }
    }
    closing
}

/// What of the materials somebody can still do something about.
fn materials(state: &State, now: Moment) -> Vec<String> {
    state.stock_flags(now).into_iter().filter(|flag| flag.kind.is_ahead()).map(|flag| flag.says).collect()
}

/// The first steps that can be done when somebody is back, each with all that it can be done on: what lapses overnight is to be
/// done again by then. What waits for a reading, for an acknowledgement or for the site day can be done in the morning.
fn tomorrow(state: &State, now: Moment) -> Vec<String> {
    let actions = next(state, now + NIGHT);
    let first = actions.iter().filter(|action| action.urgency <= Urgency::AtHand);
    let first = grouped(first.map(|action| (action.step, action.subject)));
    let line = |(step, subjects): (StepIx, Vec<SubjectIx>)| {
        format!("{}: {}", state.sequence().steps[step].title, state.subjects.shortly(&subjects))
    };
    first.into_iter().take(FIRST).map(line).collect()
}

/// Walls that are part clad, each with its lowest edge; then the joints, openings and corners not finished.
fn open_edges(state: &State, now: Moment) -> Vec<String> {
    let (mut edges, mut all_unfinished) = (Vec::new(), Vec::new());
    for OpenEdge { wall, lowest_open, courses, unfinished } in state.open_edges(now) {
        let wall = state.subjects.get(wall);
        edges.extend(lowest_open.map(|open| match open {
            1 => format!("{wall}: course 1 of {courses} is not hung"),
            open => format!("{wall}: the edge above course {} of {courses}", open - 1),
        }));
        all_unfinished.extend(unfinished);
    }
    // A corner is at the end of two walls.
    all_unfinished.sort_unstable();
    all_unfinished.dedup();
    if !all_unfinished.is_empty() {
        edges.push(format!("not finished: {}", state.subjects.shortly(&all_unfinished)));
    }
    edges
}

/// What somebody else has to do: releases, defects, papers.
fn needed(state: &State, now: Moment) -> Vec<String> {
    let mut needed = releases(state, now);
    needed.extend(defects(state));
    let lacking: Vec<&str> = state.sequence().papers_lacking(&state.job).collect();
    if !lacking.is_empty() {
        needed.push(format!("papers that the job does not list: {}", lacking.join("; ")));
    }
    needed
}

/// Open defects and who ends each, those out of tolerance first.
fn defects(state: &State) -> Vec<String> {
    let authority = &state.sequence().authority;
    let (concede, close) = (authority.concede.join(" or "), authority.close.join(" or "));
    let mut open: Vec<&Defect> = state.open_defects().collect();
    open.sort_by_key(|defect| defect.rule != Some(Rule::Answer));
    let line = |defect: &&Defect| {
        let (on, what) = (the(&defect.subject), what_is_wrong(state, defect));
        match defect.rule {
            Some(Rule::Answer) => {
                format!("{on}: {what}: to be put right and measured again, or conceded by the {concede}")
            }
            _ => format!("{on}: {what}: to be put right, and closed by the {close}"),
        }
    };
    let mut lines: Vec<String> = open.iter().take(DEFECTS).map(line).collect();
    lines.extend((open.len() > DEFECTS).then(|| format!("and {}", count(open.len() - DEFECTS, "more open defect"))));
    lines
}

/// Releases that are due, asked for or refused; those with the same status together.
fn releases(state: &State, now: Moment) -> Vec<String> {
    let due = state.holds().into_iter().filter_map(|(hold, subject, found)| {
        let due = release_waits_for(state, hold, subject, now).is_empty();
        let asked = found.asked_at.map(|at| at.clock(now.date()));
        let status = match (found.state, asked) {
            (HoldState::Released, _) => return None,
            (HoldState::Refused, _) => {
                let (who, why) = (found.person.unwrap_or_default(), found.how.unwrap_or_default());
                format!("refused by {who} ({why}): put right, then ask again")
            }
            (HoldState::Held, Some(at)) if due => format!("asked for {at}, not answered yet"),
            (HoldState::Held, Some(at)) => format!("asked for {at}; what it covers is not complete yet"),
            (HoldState::Held, None) if due => "due, and not asked for yet".to_owned(),
            (HoldState::Held, None) => return None,
        };
        Some(((hold, status), subject))
    });
    let line = |((hold, status), subjects): ((HoldIx, String), Vec<SubjectIx>)| {
        let hold = &state.sequence().holds[hold];
        let (on, roles) = (state.subjects.shortly(&subjects), hold.roles.join(" or "));
        format!("release of '{}' on {on} by {roles}: {status}", hold.title)
    };
    grouped(due).into_iter().map(line).collect()
}
