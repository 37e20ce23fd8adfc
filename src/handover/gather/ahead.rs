//! What the night and tomorrow hold: windows that close, edges left open to rain, the first things to do, and what
//! is needed from others.

use crate::day::{DefectState, HoldState, OpenEdge, Phase, State, next, release_waits_for};
use crate::handover::model::Ahead;
use crate::moment::Moment;
use crate::refusal::Rule;

/// Nobody is on site again before so many hours have passed.
const NIGHT_H: i64 = 16;

/// First things of tomorrow that are told.
const FIRST: usize = 5;

/// Open defects that are told one by one.
const DEFECTS: usize = 6;

impl Ahead {
    /// What lies ahead at a moment.
    pub fn of(state: &State, now: Moment) -> Self {
        Self {
            stopped: state.open_stoppages().map(|one| one.standing(now)).collect(),
            lapsing: lapsing(state, now),
            open_to_rain: open_edges(state, now),
            materials: materials(state, now),
            tomorrow: tomorrow(state, now),
            needed: needed(state, now),
        }
    }

    /// The same as lines of text, but for what is needed from others.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = self.stopped.clone();
        let lists = [
            ("Will lapse before anybody is back:", &self.lapsing),
            ("Left open to rain:", &self.open_to_rain),
            ("Materials:", &self.materials),
            ("First thing tomorrow:", &self.tomorrow),
        ];
        for (heading, list) in lists {
            if !list.is_empty() {
                lines.push(heading.to_owned());
                lines.extend(list.iter().map(|line| format!("  {line}")));
            }
        }
        lines
    }
}

pub fn lapsing(state: &State, now: Moment) -> Vec<String> {
    let morning = now + chrono::TimeDelta::hours(NIGHT_H);
    let mut told = Vec::new();
    for run in state.runs() {
        let Some(closes) = run.closes_at.filter(|closes| *closes <= morning) else { continue };
        if !matches!(run.phase(now), Phase::Lapsed | Phase::Met) {
            let on = state.subjects.get(run.subject);
            told.push(format!("{} on {on} closes {}", run.window.title, closes.clock(now.date())));
        }
    }
    told
}

/// What of the materials somebody can still do something about.
pub fn materials(state: &State, now: Moment) -> Vec<String> {
    state.stock_flags(now).into_iter().filter(|flag| flag.kind.is_ahead()).map(|flag| flag.says).collect()
}

/// The first steps that can be done, each with all that it can be done on.
pub fn tomorrow(state: &State, now: Moment) -> Vec<String> {
    let mut first: Vec<(usize, Vec<usize>)> = Vec::new();
    for action in next(state, now).iter().filter(|action| action.ready || action.rule == Some(Rule::R12)) {
        let many = first.len();
        match first.iter_mut().find(|(step, _)| *step == action.step) {
            Some((_, subjects)) => subjects.push(action.subject),
            None if many < FIRST => first.push((action.step, vec![action.subject])),
            None => {}
        }
    }
    let told = |(step, subjects): (usize, Vec<usize>)| {
        format!("{} on {}", state.sequence().steps[step].title, state.subjects.shortly(&subjects))
    };
    first.into_iter().map(told).collect()
}

/// Walls that are part clad: the lowest edge, and joints not finished.
pub fn open_edges(state: &State, now: Moment) -> Vec<String> {
    let mut edges = Vec::new();
    for OpenEdge { wall, lowest_open, courses, joints } in state.open_edges(now) {
        let wall = state.subjects.get(wall);
        edges.extend(lowest_open.map(|open| match open {
            1 => format!("{wall}: course 1 of {courses} is not hung"),
            open => format!("{wall}: the edge above course {} of {courses}", open - 1),
        }));
        if !joints.is_empty() {
            edges.push(format!("joints not finished: {}", state.subjects.shortly(&joints)));
        }
    }
    edges
}

pub fn needed(state: &State, now: Moment) -> Vec<String> {
    let mut needed = releases(state, now);
    let concede = state.sequence().authority.concede.join(" or ");
    let measured: Vec<_> = state.open_defects().filter(|defect| defect.rule == Some(Rule::R8)).collect();
    for defect in measured.iter().take(DEFECTS) {
        needed.push(format!(
            "{}: {}: measured again in tolerance, or a concession by {concede}",
            defect.subject, defect.what
        ));
    }
    if measured.len() > DEFECTS {
        needed.push(format!("and {} more defects that were measured", measured.len() - DEFECTS));
    }
    let others =
        state.defects.iter().filter(|one| one.state == DefectState::Open && one.rule != Some(Rule::R8)).count();
    if others > 0 {
        let close = state.sequence().authority.close.join(" or ");
        let s = if others == 1 { "" } else { "s" };
        needed.push(format!("{others} other open defect{s} to be put right and closed by {close}"));
    }
    let lacking: Vec<&str> = state
        .sequence()
        .documents
        .iter()
        .filter(|document| state.job.papers.iter().all(|paper| paper.key != document.key))
        .map(|document| document.title.as_str())
        .collect();
    if !lacking.is_empty() {
        needed.push(format!("papers that the job does not list: {}", lacking.join("; ")));
    }
    needed
}

/// Releases that are due, asked for or refused; alike ones together.
pub fn releases(state: &State, now: Moment) -> Vec<String> {
    let mut told: Vec<(usize, String, Vec<usize>)> = Vec::new();
    for (hold, subject, life) in state.holds() {
        let due = release_waits_for(state, hold, subject, now).is_empty();
        let asked = life.asked_at.map(|at| at.clock(now.date()));
        let stands = match (life.state, asked) {
            (HoldState::Released, _) => continue,
            (HoldState::Refused, _) => {
                let (who, why) = (life.person.unwrap_or_default(), life.how.unwrap_or_default());
                format!("refused by {who} ({why}): put right, then ask again")
            }
            (HoldState::Held, Some(asked)) if due => format!("asked for {asked}, not answered yet"),
            (HoldState::Held, Some(asked)) => format!("asked for {asked}; what it covers is not complete yet"),
            (HoldState::Held, None) if due => "due, and not asked for yet".to_owned(),
            (HoldState::Held, None) => continue,
        };
        match told.iter_mut().find(|(other, says, _)| (*other, says) == (hold, &stands)) {
            Some((_, _, subjects)) => subjects.push(subject),
            None => told.push((hold, stands, vec![subject])),
        }
    }
    told.into_iter()
        .map(|(hold, stands, subjects)| {
            let hold = &state.sequence().holds[hold];
            let (on, roles) = (state.subjects.shortly(&subjects), hold.roles.join(" or "));
            format!("release of '{}' on {on} by {roles}: {stands}", hold.title)
        })
        .collect()
}
