//! What no plan can beat.

use super::problem::Problem;
use super::search::Sealed;

/// The most joints that any plan can seal.
pub(super) fn most_joints(problem: &Problem) -> Sealed {
    let able = (0..problem.jobs.len()).filter(|&job| problem.able(job)).collect::<Vec<_>>();
    let primed_before = able.iter().filter(|&&job| problem.jobs[job].primed_before).count();
    let mut works = able.iter().map(|&job| i64::from(problem.jobs[job].work)).collect::<Vec<_>>();
    works.sort_unstable();
    let hours = i64::from(problem.until) * problem.people as i64;
    let mut used = 0;
    let fit = works.iter().take_while(|&&work| {
        used += work;
        used <= hours
    });
    Sealed { primed_before, all: fit.count() }
}

/// The earliest that any plan of so many joints can finish.
pub(super) fn least_finish(problem: &Problem, joints: usize) -> i32 {
    let mut alone = Vec::new();
    let mut works = Vec::new();
    for (job, work) in problem.jobs.iter().enumerate() {
        if let Some((_, gun)) = problem.pair_from(job, 0, 0) {
            alone.push(gun + work.gun + work.tape);
            works.push(i64::from(work.work));
        }
    }
    alone.sort_unstable();
    works.sort_unstable();
    let last = joints.checked_sub(1).and_then(|nth| alone.get(nth)).copied().unwrap_or(0);
    let shared = works.iter().take(joints).sum::<i64>().unsigned_abs().div_ceil(problem.people as u64);
    last.max(i32::try_from(shared).unwrap_or(i32::MAX))
}
