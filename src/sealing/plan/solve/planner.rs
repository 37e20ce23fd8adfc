//! From a day to its plan.

use super::bounds::{least_finish, most_joints};
use super::exact::{self, Exact};
use super::problem::Problem;
use super::reasons::left_out;
use super::rota::{NONE, Part, Rota};
use super::search::{Score, Sealed, Search};
use crate::sealing::plan::day::Day;
use crate::sealing::plan::timetable::{LeftOut, Plan, PlannedJoint};

/// How long the search may go on, in elementary steps: a count, not a time, so that the same day always gets the same
/// plan on any machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort(pub u64);

impl Default for Effort {
    /// A second to a second and a half on a small computer of 2025, whatever the day.
    fn default() -> Self {
        Self(150_000_000)
    }
}

/// Plans the day: most joints (those primed already first), then the earliest finish.
///
/// `stop` is asked now and then whether to leave off; the plan is then the best found so far. Without it the same day
/// and effort always give the same plan.
pub fn plan(day: &Day, effort: Effort, stop: &mut dyn FnMut() -> bool) -> Plan {
    let problem = Problem::new(day);
    if problem.jobs.is_empty() {
        return Plan { proven: true, ..Plan::default() };
    }
    let (rota, proven) = best_rota(&problem, effort, stop);
    written(day, &problem, &rota, proven)
}

/// How often the search for most joints starts over, and its share of the steps in tenths; the finish has the rest.
const STARTS: u64 = 4;
const COUNT_SHARE: u64 = 7;
/// From so many joints a day gets the whole effort; a smaller one needs less.
const LARGE: u64 = 20;

fn best_rota(problem: &Problem, effort: Effort, stop: &mut dyn FnMut() -> bool) -> (Rota, bool) {
    let steps = effort.0 / LARGE * (problem.jobs.len() as u64).clamp(4, LARGE);
    let most = most_joints(problem);
    if problem.jobs.len() > exact::MOST_JOINTS {
        return searched(problem, steps, most, stop);
    }
    let (best, proven) = searched(problem, steps / 4, most, stop);
    if proven {
        return (best, true);
    }
    let mut exact = Exact::new(problem, steps - steps / 4, stop);
    let best = exact.better_than(best, most);
    (best, exact.is_done())
}

/// The best that the search finds in so many steps, and whether no plan can be better.
fn searched(problem: &Problem, steps: u64, most: Sealed, stop: &mut dyn FnMut() -> bool) -> (Rota, bool) {
    let mut search = Search::new(problem, steps, stop);
    let mut best = search.plain_start();
    let mut reached = Score::of(problem, &best).sealed;
    for nth in 0..STARTS {
        if reached >= most {
            break;
        }
        let mut trial = if nth == 0 { best.clone() } else { search.random_start() };
        let score = search.improve(&mut trial, most, steps / 10 * COUNT_SHARE / STARTS);
        if nth == 0 || score > Score::of(problem, &best) {
            best = trial;
            reached = score.sealed;
        }
    }
    sooner(problem, &mut search, &mut best, reached);
    let proven = reached == most && best.finish(problem) <= least_finish(problem, reached.all);
    (best, proven)
}

/// Brings the finish forward while as many joints still fit: big strides first, smaller where they fail.
fn sooner(problem: &Problem, search: &mut Search<'_>, best: &mut Rota, joints: Sealed) {
    if joints.all == 0 {
        return;
    }
    let least = least_finish(problem, joints.all);
    let mut finish = best.finish(problem);
    let mut stride = ((finish - least) / 3).max(1);
    while finish > least && search.steps_left > 0 && !search.stopped() {
        let horizon = (finish - stride).max(least);
        let mut trial = best.clone();
        search.shorten(&mut trial, horizon);
        let share = if stride > 1 { search.steps_left / 8 } else { search.steps_left };
        let score = search.improve(&mut trial, joints, share);
        if score.sealed >= joints {
            finish = trial.finish(problem);
            *best = trial;
            stride = stride.min(((finish - least) / 3).max(1));
        } else {
            stride = (stride / 2).max(1);
        }
    }
}

/// Writes the rota down as a plan; people are numbered in the order they begin.
fn written(day: &Day, problem: &Problem, rota: &Rota, proven: bool) -> Plan {
    let mut people = (0..rota.first.len()).filter(|&person| rota.first[person] != NONE).collect::<Vec<_>>();
    people.sort_by_key(|&person| {
        let first = rota.first[person];
        rota.early[first] - Rota::lead(problem, first)
    });
    let number = |person: usize| people.iter().position(|&other| other == person).map_or(0, |at| at + 1);
    let mut plan = Plan { proven, ..Plan::default() };
    for (index, joint) in day.joints.iter().enumerate() {
        if !rota.placed[index] {
            plan.left_out.push(LeftOut { joint: index, why: left_out(day, problem, index) });
            continue;
        }
        let at = |part: Part| rota.early[part.of(index)];
        let prime_at = joint.primed.map_or(at(Part::Prime), |primed| primed.from);
        plan.joints.push(PlannedJoint {
            joint: index,
            mask_at: if joint.primed.is_some() { prime_at } else { prime_at - joint.mask },
            prime_at,
            gun_at: at(Part::Gun),
            tape_off_at: at(Part::Tape),
            done_at: at(Part::Tape) + joint.tape_off,
            primed_by: joint.primed.is_none().then(|| number(rota.person[Part::Prime.of(index)])),
            gunned_by: number(rota.person[Part::Gun.of(index)]),
        });
    }
    plan
}
