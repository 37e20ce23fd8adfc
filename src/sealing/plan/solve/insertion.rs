//! Where a joint can be put into a rota, cheapest places first.

use fastrand::Rng;

use super::problem::{NEVER, Problem};
use super::rota::{Insertion, MOVE, NONE, Part, Rota};

/// What makes a place cheap. The weights change from round to round, so that no one set of them rules the search.
#[derive(Debug, Clone, Copy)]
pub(super) struct CostWeights {
    /// Weight of the minutes by which later tasks are put off.
    pub(super) push: i32,
    /// Weight of idle minutes before a task.
    pub(super) idle: i32,
    /// Weight of the time at which the joint is done.
    pub(super) end: i32,
    /// Chance added to each cost, below this.
    pub(super) noise: i32,
}

/// A place between two tasks of one person.
#[derive(Debug, Clone, Copy)]
struct Gap {
    person: usize,
    /// The place's number in the person's order.
    ordinal: usize,
    after: usize,
    /// End of the task before.
    free_from: i32,
    /// Earliest start of what follows, its lead taken off; beyond it, work pushes.
    push_from: i32,
    /// Earliest and latest start.
    lo: i32,
    hi: i32,
    /// What the place costs at its earliest; later never costs less.
    base: i32,
    /// Where the tape comes off, when not straight after gunning.
    tape: Option<LaterTape>,
}

/// Taking the tape off after some other task of the same person.
#[derive(Debug, Clone, Copy)]
struct LaterTape {
    after: usize,
    /// End of that task.
    from: i32,
    /// As [`Gap::push_from`], of what follows the tape.
    push_from: i32,
}

/// How many of the cheapest places are tried before the joint is left out.
const TRIED: usize = 6;
/// How many other tasks may come between gunning and taking the tape off.
const BETWEEN: usize = 3;

/// Buffers for the search of places, kept between calls.
#[derive(Debug, Default)]
pub(super) struct Insertions {
    primes: Vec<Gap>,
    guns: Vec<Gap>,
    /// For each of `guns`, in order of their earliest, the latest of any up to it.
    reach: Vec<i32>,
    best: Vec<(i32, Insertion)>,
}

impl Insertions {
    /// Puts `job` into the cheapest place where it fits; says whether there was one.
    pub(super) fn put_in(
        &mut self,
        problem: &Problem,
        rota: &mut Rota,
        job: usize,
        weights: CostWeights,
        rng: &mut Rng,
    ) -> bool {
        self.best.clear();
        self.guns.clear();
        self.primes.clear();
        self.find(problem, rota, job, Part::Gun);
        if self.guns.is_empty() {
            return false;
        }
        if problem.jobs[job].primed_before {
            self.rank_primed_before(problem, rota, job, weights, rng);
        } else {
            self.find(problem, rota, job, Part::Prime);
            self.rank(problem, rota, job, weights, rng);
        }
        self.best.iter().any(|&(_, at)| rota.put_in(problem, job, at))
    }

    /// The places where priming or gunning of `job` fits between two tasks of one person.
    fn find(&mut self, problem: &Problem, rota: &mut Rota, job: usize, part: Part) {
        let work = &problem.jobs[job];
        let mut idle_seen = false;
        for person in 0..rota.first.len() {
            // People with nothing to do are alike.
            if rota.first[person] == NONE && std::mem::replace(&mut idle_seen, true) {
                continue;
            }
            let (mut after, mut follows, mut ordinal) = (NONE, rota.first[person], 0);
            loop {
                rota.steps += MOVE;
                let free_from = if after == NONE { 0 } else { rota.early[after] + Rota::tail(problem, after) };
                let (by, push_from) = bounds(problem, rota, follows);
                let (lo, hi) = match part {
                    Part::Prime => {
                        (problem.prime_from(job, free_from + work.mask), problem.prime_by(job, by - work.prime))
                    }
                    Part::Gun | Part::Tape => (problem.gun_from(job, free_from), problem.gun_by(job, by - work.gun)),
                };
                if lo <= hi {
                    let gap = Gap { person, ordinal, after, free_from, push_from, lo, hi, base: 0, tape: None };
                    match part {
                        Part::Prime => self.primes.push(gap),
                        Part::Gun | Part::Tape => self.with_tapes(problem, rota, job, gap, follows, by),
                    }
                }
                if follows == NONE || lo >= NEVER {
                    break;
                }
                (after, follows, ordinal) = (follows, rota.next[follows], ordinal + 1);
            }
        }
    }

    /// The places for the tape after gunning in `gap`: straight away, or after some of the tasks that follow.
    fn with_tapes(&mut self, problem: &Problem, rota: &Rota, job: usize, gap: Gap, follows: usize, by: i32) {
        let work = &problem.jobs[job];
        let straight = problem.gun_by(job, by - work.gun - work.tape);
        if gap.lo <= straight {
            self.guns.push(Gap { hi: straight, ..gap });
        }
        let mut last = follows;
        for _ in 0..BETWEEN {
            if last == NONE {
                return;
            }
            let from = rota.early[last] + Rota::tail(problem, last);
            let least = from - work.tape_by;
            if least > gap.hi {
                return;
            }
            let after = rota.next[last];
            let (by, push_from) = bounds(problem, rota, after);
            let lo = problem.gun_from(job, gap.lo.max(least));
            if lo <= gap.hi && from.max(lo + work.gun) + work.tape <= by {
                self.guns.push(Gap { lo, tape: Some(LaterTape { after: last, from, push_from }), ..gap });
            }
            last = after;
        }
    }

    fn rank(&mut self, problem: &Problem, rota: &mut Rota, job: usize, weights: CostWeights, rng: &mut Rng) {
        let work = &problem.jobs[job];
        for gap in &mut self.guns {
            gap.base = gun_cost(problem, job, gap, gap.lo, weights);
        }
        for gap in &mut self.primes {
            gap.base = prime_cost(problem, job, gap, gap.lo, weights);
        }
        self.guns.sort_by_key(|gap| gap.lo);
        self.reach.clear();
        let mut latest = -NEVER;
        for gap in &self.guns {
            latest = latest.max(gap.hi);
            self.reach.push(latest);
        }
        rota.steps += (self.guns.len() + self.primes.len()) as u64;
        for prime_gap in &self.primes {
            let (opens, closes) = (prime_gap.lo + work.prime + problem.wait, prime_gap.hi + problem.span - work.gun);
            let first = self.reach.partition_point(|&latest| latest < opens);
            let past = self.guns.partition_point(|gap| gap.lo <= closes);
            for gun_gap in self.guns.get(first..past).unwrap_or_default() {
                rota.steps += 1;
                if gun_gap.hi < opens
                    || gun_gap.person == prime_gap.person && gun_gap.ordinal < prime_gap.ordinal
                    || self.best.len() == TRIED && prime_gap.base + gun_gap.base >= self.best[TRIED - 1].0
                {
                    continue;
                }
                rota.steps += 2;
                let Some((prime, gun)) = problem.pair_from(job, prime_gap.lo, gun_gap.lo) else { continue };
                if prime > prime_gap.hi || gun > gun_gap.hi {
                    continue;
                }
                let cost = prime_cost(problem, job, prime_gap, prime, weights);
                let cost = cost + gun_cost(problem, job, gun_gap, gun, weights) + rng.i32(0..weights.noise);
                let at = Insertion {
                    primer: prime_gap.person,
                    prime_after: prime_gap.after,
                    gunner: gun_gap.person,
                    gun_after: gun_gap.after,
                    tape_after: tape_after(job, gun_gap),
                };
                keep(&mut self.best, cost, at);
            }
        }
    }

    fn rank_primed_before(
        &mut self,
        problem: &Problem,
        rota: &mut Rota,
        job: usize,
        weights: CostWeights,
        rng: &mut Rng,
    ) {
        for gap in &self.guns {
            rota.steps += 1;
            let cost = gun_cost(problem, job, gap, gap.lo, weights) + rng.i32(0..weights.noise);
            let at = Insertion {
                primer: NONE,
                prime_after: NONE,
                gunner: gap.person,
                gun_after: gap.after,
                tape_after: tape_after(job, gap),
            };
            keep(&mut self.best, cost, at);
        }
    }
}

fn tape_after(job: usize, gap: &Gap) -> usize {
    gap.tape.map_or(Part::Gun.of(job), |tape| tape.after)
}

fn prime_cost(problem: &Problem, job: usize, gap: &Gap, prime: i32, weights: CostWeights) -> i32 {
    let work = &problem.jobs[job];
    let idle = prime - work.mask - gap.free_from;
    (prime + work.prime - gap.push_from).max(0) * weights.push + idle * weights.idle
}

fn gun_cost(problem: &Problem, job: usize, gap: &Gap, gun: i32, weights: CostWeights) -> i32 {
    let work = &problem.jobs[job];
    let idle = gun - gap.free_from;
    let end = gun + work.gun;
    let (push, done) = match gap.tape {
        None => ((end + work.tape - gap.push_from).max(0), end + work.tape),
        Some(tape) => {
            let done = tape.from.max(end) + work.tape;
            ((end - gap.push_from).max(0) + (done - tape.push_from).max(0), done)
        }
    };
    push * weights.push + idle * weights.idle + done * weights.end
}

/// By when what stands before `follows` must end, and from when it pushes it.
fn bounds(problem: &Problem, rota: &Rota, follows: usize) -> (i32, i32) {
    if follows == NONE {
        (rota.horizon, NEVER)
    } else {
        let lead = Rota::lead(problem, follows);
        (rota.late[follows] - lead, rota.early[follows] - lead)
    }
}

/// Keeps the cheapest few, in order of cost.
fn keep(best: &mut Vec<(i32, Insertion)>, cost: i32, at: Insertion) {
    let place = best.partition_point(|&(other, _)| other <= cost);
    if place < TRIED {
        best.truncate(TRIED - 1);
        best.insert(place, (cost, at));
    }
}
