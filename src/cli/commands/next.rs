//! `cladlog next`: what can be done now, what waits, why.

use clap::Args;

use crate::building::SubjectIx;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::{Opened, Site};
use crate::day::{Action, State, coming, next, next_listed, stock_ahead, the};
use crate::refusal::Rule;

/// Rows that a person reads before scrolling.
const ROWS: usize = 20;

/// Show what can be done now, what waits, and why
#[derive(Debug, Args)]
pub struct NextArgs {
    /// Also what waits for other steps
    #[arg(long)]
    all: bool,
    /// Only this wall, or these subjects
    #[arg(long, value_name = "SUBJECT")]
    on: Option<String>,
}

pub fn run(args: &NextArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let Opened { book, now, .. } = site.open_as_of()?;
    let state = &book.state;
    let mut actions = next(state, now);
    if let Some(on) = &args.on {
        let on = state.subjects.with_parts(&state.subjects.parse(on).map_err(Failure::input)?);
        actions.retain(|action| on.contains(&action.subject));
    }
    if out.is_json() {
        return out.json(&next_listed(state, &actions, now));
    }
    for stopped in state.open_stoppages() {
        out.wrapped(&stopped.standing(now), 2)?;
    }
    if actions.is_empty() {
        return match &args.on {
            Some(on) => out.line(format!("Nothing is left to do on {}.", the(on))),
            None => out.line("Nothing is left to do: cladlog pack FOLDER makes the handover pack."),
        };
    }
    let groups = grouped(state, &actions);
    let mut due: Vec<(&str, &[SubjectIx])> = Vec::new();
    let rows: Vec<[String; 4]> = groups
        .iter()
        .filter(|group| args.all || group.first.at_hand || group.first.rule == Some(Rule::Window))
        // A hold point that is due is listed once, not once for every step that it stops.
        .filter(|group| {
            let Some(key) = group.first.key.as_deref().filter(|_| group.first.rule == Some(Rule::HoldPoint)) else {
                return true;
            };
            let hold = (key, state.subjects.walls_of(group.first.subject));
            let first = !due.contains(&hold);
            due.push(hold);
            args.all || first
        })
        .take(if args.all { usize::MAX } else { ROWS })
        .map(|group| {
            let first = group.first;
            let state_word = if first.ready && first.stopped.is_none() { "ready" } else { "waits" };
            let why = first.stopped.as_ref().unwrap_or(&first.why).clone();
            let step = &state.sequence().steps[first.step];
            [state_word.to_owned(), step.key.clone(), state.subjects.shortly(&group.subjects), why]
        })
        .collect();
    let hidden = groups.len() - rows.len();
    if rows.is_empty() {
        out.line("Nothing can be done right now. What waits for other work: cladlog next --all")?;
    } else {
        out.table(["", "Step", "On", "Why"], rows)?;
        if hidden > 0 {
            out.line(format!("And {hidden} more: cladlog next --all"))?;
        }
    }
    if let Some(why) = coming(state, now).and_then(|plan| plan.slipped) {
        out.wrapped(&format!("The seal plan has slipped: {why}. Plan again from now: cladlog sealplan --keep"), 2)?;
    }
    for flag in stock_ahead(state, now) {
        out.wrapped(&format!("! {}.", flag.says), 2)?;
    }
    Ok(())
}

/// Actions on one step that share their reason.
struct Group<'a> {
    /// The first of them.
    first: &'a Action,
    /// Their subjects.
    subjects: Vec<SubjectIx>,
}

/// Gathers actions that differ only in their subject, in the order of the first of each.
fn grouped<'a>(state: &State, actions: &'a [Action]) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    let wall = |action: &Action| state.subjects.walls_of(action.subject).to_vec();
    for action in actions {
        let alike = groups.iter_mut().find(|group| {
            let first = group.first;
            first.step == action.step
                && (first.ready, &first.stopped) == (action.ready, &action.stopped)
                && first.rule == action.rule
                && first.key == action.key
                && wall(first) == wall(action)
                && (first.opens_at, first.closes_at, first.missed) == (action.opens_at, action.closes_at, action.missed)
        });
        match alike {
            Some(group) => group.subjects.push(action.subject),
            None => groups.push(Group { first: action, subjects: vec![action.subject] }),
        }
    }
    groups
}
