//! Every priming of every joint with its weather; the plans that were kept.

use crate::building::SubjectIx;
use crate::conditions::shade::{Facing, day, offset_at_noon};
use crate::conditions::sun::Place;
use crate::day::{Reading, SealPlan, State};
use crate::handover::model::{JointRun, NearestReading, PlanOfDay, WindowRun};
use crate::moment::Moment;
use crate::sealing::plan::drawing;

/// Every priming of every joint, in the order of the windows.
pub fn joints<'b>(state: &'b State, windows: &[WindowRun<'b>]) -> Vec<JointRun<'b>> {
    let Some(sealing) = &state.sequence().sealing else { return Vec::new() };
    let key = &state.sequence().windows[sealing.window].key;
    let joint = |(window, run): (usize, &WindowRun<'b>)| {
        let gunned = run.run.answered.map(|done| done.at);
        JointRun {
            window,
            primed_in: nearest(state, run.run.subject, run.run.from.at),
            gunned_in: gunned.and_then(|at| nearest(state, run.run.subject, at)),
            in_sun: gunned.and_then(|at| in_sun(state, run.run.subject, at)),
        }
    };
    windows.iter().enumerate().filter(|(_, run)| run.run.window.key == *key).map(joint).collect()
}

/// The reading nearest to a moment, on any wall that the subject stands on.
fn nearest(state: &State, subject: SubjectIx, at: Moment) -> Option<NearestReading<'_>> {
    // What was read before says what it was sealed in; what was read afterwards only where there is nothing else.
    // Where the surface was read at all, only that says it.
    let all = || state.subjects.exposed_walls(subject).iter().flat_map(|wall| state.readings(*wall));
    let some = all().any(|reading| reading.surface_c.is_some());
    let readings = || all().filter(|reading| reading.surface_c.is_some() || !some);
    let before = readings().filter(|reading| reading.at <= at).max_by_key(|reading| reading.order);
    let reading: &Reading = before.or_else(|| readings().min_by_key(|reading| reading.order))?;
    Some(NearestReading { reading, age_min: (at - reading.at).num_minutes() })
}

/// Whether a wall that a subject stands on is in direct sun; `None` where that is not known of any.
fn in_sun(state: &State, subject: SubjectIx, at: Moment) -> Option<bool> {
    let walls = state.subjects.exposed_walls(subject).iter();
    let known: Vec<bool> = walls.filter_map(|wall| is_lit(state, *wall, at)).collect();
    (!known.is_empty()).then(|| known.contains(&true))
}

/// Whether a wall is in direct sun, by its bearing and its own horizon.
fn is_lit(state: &State, wall: SubjectIx, at: Moment) -> Option<bool> {
    let wall = state.job.wall(&state.subjects.get(wall).to_string())?;
    let (place, facing) = (Place::of_job(&state.job).ok()??, Facing::of_wall(wall).ok()??);
    let date = at.date();
    let sun = day(&place, date, offset_at_noon(date, state.job.time_zone), &[facing]).ok()?;
    Some(sun.walls.first()?.lit.iter().any(|lit| lit.from <= at && at < lit.to))
}

/// The seal plans that were kept.
pub fn plans(state: &State) -> Vec<PlanOfDay<'_>> {
    let drawn = |plan: &SealPlan| plan.drawn().map(|(day, made)| drawing(&day, &made, &plan.inputs.people));
    state.seal_plans.iter().map(|plan| PlanOfDay { plan, svg: drawn(plan) }).collect()
}
