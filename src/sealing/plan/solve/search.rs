//! Large-neighbourhood search: some joints are taken out of the rota and put back elsewhere, over and over.
//!
//! One search serves both aims. For most joints it fills the day; for the earliest finish it fills a day that ends
//! sooner, with as many joints. The idea of taking out related work and putting it back is Shaw's (1998); giving the
//! joints that were hard to place a say in the order is common practice in routing.

use super::berth::{Berths, Taste};
use super::dice::Dice;
use super::problem::Problem;
use super::rota::{GUN, NONE, PRIME, Rota};

/// How good a rota is: joints owed first, then joints, then what room it leaves for the easiest joint left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    pub(super) owed: usize,
    pub(super) joints: usize,
    room: i32,
}

impl Score {
    /// How good a rota is.
    pub(super) fn of(problem: &Problem, rota: &Rota) -> Self {
        let placed = || (0..rota.placed.len()).filter(|&job| rota.placed[job]).map(|job| &problem.jobs[job]);
        let ends = (0..rota.first.len()).map(|person| rota.last_end(problem, person)).sum::<i32>();
        let out = (0..rota.placed.len()).filter(|&job| !rota.placed[job] && problem.able(job));
        let wanting = out.map(|job| problem.jobs[job].work).min().unwrap_or(0);
        Self { owed: placed().filter(|job| job.owed).count(), joints: placed().count(), room: -ends - wanting }
    }

    /// Whether a rota has at least so many owed joints, then joints.
    pub(super) fn reaches(problem: &Problem, rota: &Rota, least: (usize, usize)) -> bool {
        let score = Self::of(problem, rota);
        (score.owed, score.joints) >= least
    }
}

/// The search and what it has learnt.
pub(super) struct Search<'a> {
    problem: &'a Problem,
    berths: Berths,
    dice: Dice,
    /// How often each joint was left out of late: it is put in sooner for it.
    grudge: Vec<i32>,
    /// Minutes at which each joint may be primed or gunned, the fewer of the two.
    room: Vec<i32>,
    /// Elementary steps left; the same day always has the same, whatever the machine.
    pub(super) steps_left: u64,
    stop: &'a mut dyn FnMut() -> bool,
    stopped: bool,
}

/// A round that gains nothing for this long goes back to the best rota.
const PATIENCE: u32 = 3_000;

impl<'a> Search<'a> {
    pub(super) fn new(problem: &'a Problem, steps: u64, stop: &'a mut dyn FnMut() -> bool) -> Self {
        Self {
            problem,
            berths: Berths::default(),
            dice: Dice::new(0x5ea1),
            grudge: vec![0; problem.jobs.len()],
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
    pub(super) fn improve(&mut self, rota: &mut Rota, target: (usize, usize), steps: u64) -> Score {
        let mut best = rota.clone();
        let mut best_score = self.score(rota);
        let mut here = best_score;
        let mut spent = 0;
        let mut barren = 0;
        let typical = self.problem.jobs.iter().map(|job| job.work).sum::<i32>() / self.problem.jobs.len().max(1) as i32;
        let mut trial = rota.clone();
        while (best_score.owed, best_score.joints) < target && spent < steps && self.steps_left > 0 && !self.stopped() {
            trial.clone_from(rota);
            trial.steps = 0;
            self.disturb(&mut trial);
            if trial.settle(self.problem) {
                self.refill(&mut trial);
            }
            let used = trial.steps + 20 + 3 * self.problem.jobs.len() as u64;
            spent += used;
            self.steps_left = self.steps_left.saturating_sub(used);
            let score = self.score(&trial);
            barren += 1;
            if score > best_score {
                best.clone_from(&trial);
                if (score.owed, score.joints) > (best_score.owed, best_score.joints) {
                    self.grudge.iter_mut().for_each(|grudge| *grudge /= 2);
                }
                best_score = score;
                barren = 0;
            }
            let slack = self.dice.below(typical as usize * 3 / 10 + 1) as i32;
            let level = (score.owed, score.joints) == (here.owed, here.joints);
            let lost_one = score.owed == here.owed && score.joints + 1 == here.joints && self.dice.below(1_000) == 0;
            if score >= here || (level && score.room + slack >= here.room) || lost_one {
                std::mem::swap(rota, &mut trial);
                here = score;
            }
            if barren > PATIENCE {
                rota.clone_from(&best);
                here = best_score;
                barren = 0;
            }
        }
        rota.clone_from(&best);
        best_score
    }

    /// Fills an empty rota in a few plain orders and keeps the best.
    pub(super) fn begin(&mut self) -> Rota {
        let mut best = Rota::new(self.problem);
        let mut best_score = self.score(&best);
        for order in 0..4 {
            if order > 0 && (self.steps_left == 0 || self.stopped()) {
                break;
            }
            let mut rota = Rota::new(self.problem);
            rota.settle(self.problem);
            let mut jobs = (0..self.problem.jobs.len()).collect::<Vec<_>>();
            match order {
                0 => jobs.sort_by_key(|&job| self.problem.jobs[job].work),
                1 => jobs.sort_by_key(|&job| self.room[job]),
                2 => {}
                _ => jobs.sort_by_key(|&job| self.problem.pair_from(job, 0, 0).map_or(i32::MAX, |(_, gun)| gun)),
            }
            jobs.sort_by_key(|&job| !self.problem.jobs[job].owed);
            let taste = Taste { push: 2, idle: 0, end: 1, noise: 1 };
            for job in jobs {
                self.berths.put_in(self.problem, &mut rota, job, taste, &mut self.dice);
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
    pub(super) fn begin_anew(&mut self) -> Rota {
        let mut rota = Rota::new(self.problem);
        rota.settle(self.problem);
        self.refill(&mut rota);
        rota
    }

    /// Takes out all that can't be done by a nearer horizon.
    pub(super) fn shorten(&mut self, rota: &mut Rota, horizon: i32) {
        let late = (0..rota.placed.len())
            .filter(|&job| rota.placed[job] && rota.early[3 * job + GUN + 1] + self.problem.jobs[job].tape > horizon);
        let late = late.collect::<Vec<_>>();
        rota.take_out(self.problem, &late);
        rota.horizon = horizon;
        // Taking joints out only lets the others come sooner, so what is left is done by then.
        rota.settle(self.problem);
    }

    /// Takes some joints out: near each other in time, one person's, one wall's, or any.
    fn disturb(&mut self, rota: &mut Rota) {
        let mut placed = (0..rota.placed.len()).filter(|&job| rota.placed[job]).collect::<Vec<_>>();
        if placed.is_empty() {
            return;
        }
        let most = match self.dice.below(10) {
            0 => placed.len().min(30),
            1..=3 => placed.len().min(12),
            _ => placed.len().min(6),
        };
        let count = 1 + self.dice.below(most);
        let seed = placed[self.dice.below(placed.len())];
        match self.dice.below(10) {
            8 | 9 => {
                // One wall's: they share their shade.
                self.dice.shuffle(&mut placed);
                let wall = self.problem.jobs[seed].wall;
                placed.sort_by_key(|&job| self.problem.jobs[job].wall != wall);
            }
            0 | 1 => self.dice.shuffle(&mut placed),
            2 => {
                // The longest first, with a little chance: room for shorter ones.
                let chance = placed.iter().map(|_| self.dice.below(20) as i32).collect::<Vec<_>>();
                let mut order = (0..placed.len()).collect::<Vec<_>>();
                order.sort_by_key(|&at| -self.problem.jobs[placed[at]].work - chance[at]);
                placed = order.into_iter().map(|at| placed[at]).collect();
            }
            3 => {
                // A run of one person's tasks.
                let person = rota.person[3 * seed + GUN];
                let mut run = Vec::new();
                let mut task = 3 * seed + GUN;
                while task != NONE {
                    if !run.contains(&(task / 3)) {
                        run.push(task / 3);
                    }
                    task = rota.next[task];
                }
                let mut task = rota.first[person];
                while task != NONE {
                    if !run.contains(&(task / 3)) {
                        run.push(task / 3);
                    }
                    task = rota.next[task];
                }
                placed = run;
            }
            4 | 5 => self.near(rota, &mut placed, rota.early[3 * seed + GUN], GUN),
            _ => {
                let task = if self.problem.jobs[seed].owed { GUN } else { PRIME };
                let other = self.dice.below(2);
                let at = rota.early[3 * seed + task];
                self.near_any(rota, &mut placed, at, other);
            }
        }
        placed.truncate(count);
        rota.take_out(self.problem, &placed);
    }

    fn near(&self, rota: &Rota, placed: &mut [usize], at: i32, task: usize) {
        placed.sort_by_key(|&job| (rota.early[3 * job + task] - at).abs());
    }

    /// Nearest by priming or gunning, whichever is nearer; `after` counts only what comes later.
    fn near_any(&self, rota: &Rota, placed: &mut [usize], at: i32, after: usize) {
        placed.sort_by_key(|&job| {
            let gap = |task: usize| {
                let off = rota.early[3 * job + task] - at;
                if after == 1 && off < 0 { -2 * off } else { off.abs() }
            };
            if self.problem.jobs[job].owed { gap(GUN) } else { gap(PRIME).min(gap(GUN)) }
        });
    }

    /// Puts back whatever fits.
    fn refill(&mut self, rota: &mut Rota) {
        let mut out = (0..rota.placed.len()).filter(|&job| !rota.placed[job]).collect::<Vec<_>>();
        self.dice.shuffle(&mut out);
        let jobs = &self.problem.jobs;
        match self.dice.below(7) {
            5 | 6 => {
                // Wall by wall.
                let mut walls = out.iter().map(|&job| jobs[job].wall).collect::<Vec<_>>();
                walls.dedup();
                let rank = |job: usize| walls.iter().position(|&wall| wall == jobs[job].wall);
                out.sort_by_key(|&job| rank(job));
            }
            0 => out.sort_by_key(|&job| -self.grudge[job]),
            1 => out.sort_by_key(|&job| jobs[job].work),
            2 => out.sort_by_key(|&job| self.room[job]),
            3 => {
                let chance = out.iter().map(|_| self.dice.below(30) as i32).collect::<Vec<_>>();
                let mut order = (0..out.len()).collect::<Vec<_>>();
                order.sort_by_key(|&at| jobs[out[at]].work - self.grudge[out[at]] + chance[at]);
                out = order.into_iter().map(|at| out[at]).collect();
            }
            _ => {}
        }
        out.sort_by_key(|&job| !jobs[job].owed);
        let taste = Taste {
            push: [1, 2, 4][self.dice.below(3)],
            idle: [0, 0, 1, 2][self.dice.below(4)],
            end: [0, 0, 1, 1, 2][self.dice.below(5)],
            noise: [1, 5, 20, 60][self.dice.below(4)],
        };
        for job in out {
            if !self.berths.put_in(self.problem, rota, job, taste, &mut self.dice) {
                self.grudge[job] = (self.grudge[job] + 1).min(1_000);
            }
        }
    }
}
