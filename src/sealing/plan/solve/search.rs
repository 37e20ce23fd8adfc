//! Large-neighbourhood search: some joints are taken out of the rota and put back elsewhere, over and over.
//!
//! One search serves both aims. For most joints it fills the day; for the earliest finish it fills a day that ends
//! sooner, with as many joints. The idea of taking out related work and putting it back is Shaw's (1998); giving the
//! joints that were hard to place a say in the order is common practice in routing.

use fastrand::Rng;

use super::insertion::{CostWeights, Insertions};
use super::problem::Problem;
use super::rota::{MOVE, Part, Rota};

/// How many joints are sealed: those primed before the plan begins, which come first, and all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Sealed {
    pub(super) primed_before: usize,
    pub(super) all: usize,
}

/// How good a rota is: joints sealed, then what room it leaves for the easiest joint left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    pub(super) sealed: Sealed,
    room: i32,
}

impl Score {
    /// How good a rota is.
    pub(super) fn of(problem: &Problem, rota: &Rota) -> Self {
        let placed = || (0..rota.placed.len()).filter(|&job| rota.placed[job]).map(|job| &problem.jobs[job]);
        let ends = (0..rota.first.len()).map(|person| rota.last_end(problem, person)).sum::<i32>();
        let out = (0..rota.placed.len()).filter(|&job| !rota.placed[job] && problem.able(job));
        let wanting = out.map(|job| problem.jobs[job].work).min().unwrap_or(0);
        let sealed = Sealed { primed_before: placed().filter(|job| job.primed_before).count(), all: placed().count() };
        Self { sealed, room: -ends - wanting }
    }
}

/// The search and what it has learnt.
pub(super) struct Search<'a> {
    problem: &'a Problem,
    insertions: Insertions,
    rng: Rng,
    /// How often each joint was left out of late: such a joint is put in sooner.
    missed: Vec<i32>,
    /// Minutes at which each joint may be primed or gunned, the fewer of the two.
    room: Vec<i32>,
    /// Elementary steps left; the same day always has the same, whatever the machine.
    pub(super) steps_left: u64,
    stop: &'a mut dyn FnMut() -> bool,
    stopped: bool,
}

/// After so many rounds without gain the search goes back to the best rota.
const PATIENCE: u32 = 3_000;

impl<'a> Search<'a> {
    pub(super) fn new(problem: &'a Problem, steps: u64, stop: &'a mut dyn FnMut() -> bool) -> Self {
        Self {
            problem,
            insertions: Insertions::default(),
            // The same day gives the same numbers, so the same plan.
            rng: Rng::with_seed(0x5ea1),
            missed: vec![0; problem.jobs.len()],
            room: (0..problem.jobs.len()).map(|job| problem.room(job) as i32).collect(),
            steps_left: steps,
            stop,
            stopped: false,
        }
    }

    /// Whether the caller's deadline has passed.
    pub(super) fn stopped(&mut self) -> bool {
        self.stopped = self.stopped || (self.stop)();
        self.stopped
    }

    pub(super) fn score(&self, rota: &Rota) -> Score {
        Score::of(self.problem, rota)
    }

    /// Improves `rota` within its horizon until it has the joints of `target` or `steps` are used up. Leaves the best.
    pub(super) fn improve(&mut self, rota: &mut Rota, target: Sealed, steps: u64) -> Score {
        let mut best = rota.clone();
        let mut best_score = self.score(rota);
        let mut current = best_score;
        let mut spent = 0;
        let mut rounds_without_gain = 0;
        let typical = self.problem.jobs.iter().map(|job| job.work).sum::<i32>() / self.problem.jobs.len().max(1) as i32;
        let mut trial = rota.clone();
        while best_score.sealed < target && spent < steps && self.steps_left > 0 && !self.stopped() {
            trial.clone_from(rota);
            trial.steps = 0;
            self.disturb(&mut trial);
            if trial.propagate(self.problem) {
                self.refill(&mut trial);
            }
            let used = trial.steps + (20 + 3 * self.problem.jobs.len() as u64) * MOVE;
            spent += used;
            self.steps_left = self.steps_left.saturating_sub(used);
            let score = self.score(&trial);
            rounds_without_gain += 1;
            if score > best_score {
                best.clone_from(&trial);
                if score.sealed > best_score.sealed {
                    self.missed.iter_mut().for_each(|missed| *missed /= 2);
                }
                best_score = score;
                rounds_without_gain = 0;
            }
            let slack = self.rng.i32(0..=typical * 3 / 10);
            let level = score.sealed == current.sealed;
            let one_less = Sealed { all: current.sealed.all.wrapping_sub(1), ..current.sealed };
            let lost_one = score.sealed == one_less && self.rng.u32(..1_000) == 0;
            if score >= current || (level && score.room + slack >= current.room) || lost_one {
                std::mem::swap(rota, &mut trial);
                current = score;
            }
            if rounds_without_gain > PATIENCE {
                rota.clone_from(&best);
                current = best_score;
                rounds_without_gain = 0;
            }
        }
        rota.clone_from(&best);
        best_score
    }

    /// Fills an empty rota in a few plain orders and keeps the best.
    pub(super) fn plain_start(&mut self) -> Rota {
        let mut best = Rota::new(self.problem);
        let mut best_score = self.score(&best);
        for order in 0..4 {
            if order > 0 && (self.steps_left == 0 || self.stopped()) {
                break;
            }
            let mut rota = Rota::new(self.problem);
            rota.propagate(self.problem);
            let mut jobs = (0..self.problem.jobs.len()).collect::<Vec<_>>();
            match order {
                0 => jobs.sort_by_key(|&job| self.problem.jobs[job].work),
                1 => jobs.sort_by_key(|&job| self.room[job]),
                2 => {}
                _ => jobs.sort_by_key(|&job| self.problem.pair_from(job, 0, 0).map_or(i32::MAX, |(_, gun)| gun)),
            }
            jobs.sort_by_key(|&job| !self.problem.jobs[job].primed_before);
            let weights = CostWeights { push: 2, idle: 0, end: 1, noise: 1 };
            for job in jobs {
                self.insertions.put_in(self.problem, &mut rota, job, weights, &mut self.rng);
            }
            // A very large day may spend all its steps here.
            self.steps_left = self.steps_left.saturating_sub(rota.steps);
            let score = self.score(&rota);
            if order == 0 || score > best_score {
                (best, best_score) = (rota, score);
            }
        }
        best
    }

    /// Fills an empty rota by chance.
    pub(super) fn random_start(&mut self) -> Rota {
        let mut rota = Rota::new(self.problem);
        rota.propagate(self.problem);
        self.refill(&mut rota);
        rota
    }

    /// Takes out all that can't be done by a nearer horizon.
    pub(super) fn shorten(&mut self, rota: &mut Rota, horizon: i32) {
        let late = (0..rota.placed.len())
            .filter(|&job| rota.placed[job] && rota.early[Part::Tape.of(job)] + self.problem.jobs[job].tape > horizon);
        let late = late.collect::<Vec<_>>();
        rota.take_out(self.problem, &late);
        rota.horizon = horizon;
        // Taking joints out only lets the others come sooner, so what is left is done by then.
        rota.propagate(self.problem);
    }

    /// Takes some joints out: any, the longest, one person's, one wall's, or those near each other in time.
    fn disturb(&mut self, rota: &mut Rota) {
        let problem = self.problem;
        let mut placed = (0..rota.placed.len()).filter(|&job| rota.placed[job]).collect::<Vec<_>>();
        if placed.is_empty() {
            return;
        }
        let jobs = &problem.jobs;
        let most = [30, 12, 12, 12, 6, 6, 6, 6, 6, 6][self.rng.usize(..10)];
        let count = self.rng.usize(1..=placed.len().min(most));
        let seed = placed[self.rng.usize(..placed.len())];
        self.rng.shuffle(&mut placed);
        match self.rng.u32(..10) {
            0 | 1 => {}
            2 => placed.sort_by_cached_key(|&job| -jobs[job].work - self.rng.i32(0..20)),
            3 => placed.sort_by_key(|&job| rota.person[Part::Gun.of(job)] != rota.person[Part::Gun.of(seed)]),
            // One wall's joints share their shade.
            4 | 5 => placed.sort_by_key(|&job| jobs[job].wall != jobs[seed].wall),
            6 | 7 => placed.sort_by_key(|&job| (rota.early[Part::Gun.of(job)] - rota.early[Part::Gun.of(seed)]).abs()),
            _ => {
                // Near by priming or gunning, whichever is nearer; at times only what comes later counts.
                let part = if jobs[seed].primed_before { Part::Gun } else { Part::Prime };
                let at = rota.early[part.of(seed)];
                let later = self.rng.bool();
                placed.sort_by_key(|&job| {
                    let gap = |part: Part| {
                        let off = rota.early[part.of(job)] - at;
                        if later && off < 0 { -2 * off } else { off.abs() }
                    };
                    if jobs[job].primed_before { gap(Part::Gun) } else { gap(Part::Prime).min(gap(Part::Gun)) }
                });
            }
        }
        placed.truncate(count);
        rota.take_out(problem, &placed);
    }

    /// Puts back whatever fits.
    fn refill(&mut self, rota: &mut Rota) {
        let problem = self.problem;
        let mut out = (0..rota.placed.len()).filter(|&job| !rota.placed[job]).collect::<Vec<_>>();
        self.rng.shuffle(&mut out);
        let jobs = &problem.jobs;
        match self.rng.u32(..7) {
            0 => out.sort_by_key(|&job| -self.missed[job]),
            1 => out.sort_by_key(|&job| jobs[job].work),
            2 => out.sort_by_key(|&job| self.room[job]),
            3 => out.sort_by_cached_key(|&job| jobs[job].work - self.missed[job] + self.rng.i32(0..30)),
            4 | 5 => {
                // Wall by wall, in the order in which the walls turn up.
                let walls = out.iter().map(|&job| jobs[job].wall).collect::<Vec<_>>();
                out.sort_by_key(|&job| walls.iter().position(|&wall| wall == jobs[job].wall));
            }
            _ => {}
        }
        out.sort_by_key(|&job| !jobs[job].primed_before);
        let weights = CostWeights {
            push: [1, 2, 4][self.rng.usize(..3)],
            idle: [0, 0, 1, 2][self.rng.usize(..4)],
            end: [0, 0, 1, 1, 2][self.rng.usize(..5)],
            noise: [1, 5, 20, 60][self.rng.usize(..4)],
        };
        for job in out {
            if !self.insertions.put_in(problem, rota, job, weights, &mut self.rng) {
                self.missed[job] = (self.missed[job] + 1).min(1_000);
            }
        }
    }
}
