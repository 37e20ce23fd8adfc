//! Who does what in which order, and the earliest and latest times which that order leaves.
//!
//! For a fixed order of each person's tasks every rule pushes one way: an earliest time pushes others later, a latest
//! time pushes others sooner (sun and rain included: their tables only move a time on). So the earliest times are one
//! least fixed point, found by pushing until nothing moves, and the latest times one greatest. A joint fits between two
//! tasks only where the earliest end of the one leaves room before the latest start of the other.

use super::problem::{NEVER, Problem};

/// No task.
pub(super) const NONE: usize = usize::MAX;
/// A part of the work on a joint, and so one of its tasks; masking goes with priming.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    Prime,
    Gun,
    Tape,
}

/// How many tasks a joint has: they are numbered joint by joint, in their order.
pub(super) const PARTS: usize = 3;

impl Part {
    /// The task of a joint.
    pub(super) const fn of(self, job: usize) -> usize {
        PARTS * job + self as usize
    }
}

/// What a task is.
pub(super) const fn part_of(task: usize) -> Part {
    match task % PARTS {
        0 => Part::Prime,
        1 => Part::Gun,
        _ => Part::Tape,
    }
}

/// The joint of a task.
pub(super) const fn job_of(task: usize) -> usize {
    task / PARTS
}

/// The tasks of a joint.
fn tasks_of(job: usize) -> std::ops::Range<usize> {
    PARTS * job..PARTS * (job + 1)
}

/// What it takes to look at a task in a rota or to move one, in elementary steps: a step is a pair of places compared.
/// Counted so, as many steps take about as long on every day.
pub(super) const MOVE: u64 = 4;

/// Where a joint goes: the task that each of its tasks comes right after ([`NONE`]: first), and who does it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Insertion {
    pub(super) primer: usize,
    pub(super) prime_after: usize,
    pub(super) gunner: usize,
    pub(super) gun_after: usize,
    /// After which task the tape comes off; its own gunning for straight away.
    pub(super) tape_after: usize,
}

/// Each person's tasks in order, with the earliest and latest times.
#[derive(Debug, Clone)]
pub(super) struct Rota {
    pub(super) first: Vec<usize>,
    pub(super) next: Vec<usize>,
    prev: Vec<usize>,
    pub(super) person: Vec<usize>,
    pub(super) early: Vec<i32>,
    pub(super) late: Vec<i32>,
    pub(super) placed: Vec<bool>,
    /// All must be done by this minute.
    pub(super) horizon: i32,
    trail: Vec<(usize, i32)>,
    queue: Vec<usize>,
    /// Elementary steps so far: what the effort is counted in.
    pub(super) steps: u64,
}

impl Rota {
    pub(super) fn new(problem: &Problem) -> Self {
        let tasks = problem.jobs.len() * PARTS;
        Self {
            first: vec![NONE; problem.people],
            next: vec![NONE; tasks],
            prev: vec![NONE; tasks],
            person: vec![NONE; tasks],
            early: vec![0; tasks],
            late: vec![0; tasks],
            placed: vec![false; problem.jobs.len()],
            horizon: problem.until,
            trail: Vec::new(),
            queue: Vec::new(),
            steps: 0,
        }
    }

    /// Tasks in this order, each with who does it, at their earliest times; nothing where the order can't be kept.
    pub(super) fn in_order(problem: &Problem, order: impl Iterator<Item = (usize, usize)>) -> Option<Self> {
        let mut rota = Self::new(problem);
        let mut last = vec![NONE; problem.people];
        for (task, person) in order {
            rota.link(task, last[person], person);
            rota.placed[job_of(task)] = true;
            last[person] = task;
        }
        rota.propagate(problem).then_some(rota)
    }

    /// How many minutes a task takes before the time that is kept for it: masking, before priming.
    pub(super) fn lead(problem: &Problem, task: usize) -> i32 {
        if part_of(task) == Part::Prime { problem.jobs[job_of(task)].mask } else { 0 }
    }

    /// How many minutes a task takes after it.
    pub(super) fn tail(problem: &Problem, task: usize) -> i32 {
        let job = &problem.jobs[job_of(task)];
        match part_of(task) {
            Part::Prime => job.prime,
            Part::Gun => job.gun,
            Part::Tape => job.tape,
        }
    }

    /// When the last joint is done at the earliest times.
    pub(super) fn finish(&self, problem: &Problem) -> i32 {
        let ends = (0..self.placed.len()).filter(|&job| self.placed[job]);
        ends.map(|job| self.early[Part::Tape.of(job)] + problem.jobs[job].tape).max().unwrap_or(0)
    }

    /// When a person is done at the earliest times.
    pub(super) fn last_end(&self, problem: &Problem, person: usize) -> i32 {
        let mut task = self.first[person];
        let mut end = 0;
        while task != NONE {
            end = self.early[task] + Self::tail(problem, task);
            task = self.next[task];
        }
        end
    }

    fn link(&mut self, task: usize, after: usize, person: usize) {
        let follows = if after == NONE { self.first[person] } else { self.next[after] };
        self.prev[task] = after;
        self.next[task] = follows;
        self.person[task] = person;
        if after == NONE {
            self.first[person] = task;
        } else {
            self.next[after] = task;
        }
        if follows != NONE {
            self.prev[follows] = task;
        }
    }

    fn unlink(&mut self, task: usize) {
        let (before, follows) = (self.prev[task], self.next[task]);
        if before == NONE {
            self.first[self.person[task]] = follows;
        } else {
            self.next[before] = follows;
        }
        if follows != NONE {
            self.prev[follows] = before;
        }
        self.person[task] = NONE;
    }

    fn unlink_job(&mut self, problem: &Problem, job: usize) {
        self.unlink(Part::Tape.of(job));
        self.unlink(Part::Gun.of(job));
        if !problem.jobs[job].primed_before {
            self.unlink(Part::Prime.of(job));
        }
        self.placed[job] = false;
    }

    /// Takes joints out; the times of the others are worked out again by [`Rota::propagate`].
    pub(super) fn take_out(&mut self, problem: &Problem, jobs: &[usize]) {
        for &job in jobs {
            if self.placed[job] {
                self.unlink_job(problem, job);
            }
        }
    }

    /// Puts a joint in when everything still fits, and says whether it did; otherwise nothing is changed.
    pub(super) fn put_in(&mut self, problem: &Problem, job: usize, at: Insertion) -> bool {
        let (prime, gun, tape) = (Part::Prime.of(job), Part::Gun.of(job), Part::Tape.of(job));
        let primed_before = problem.jobs[job].primed_before;
        self.steps += 6 * MOVE;
        if !primed_before {
            self.link(prime, at.prime_after, at.primer);
        }
        // Priming and gunning in the same gap: gunning comes after.
        let same_gap = !primed_before && at.gunner == at.primer && at.gun_after == at.prime_after;
        self.link(gun, if same_gap { prime } else { at.gun_after }, at.gunner);
        self.link(tape, at.tape_after, at.gunner);
        self.placed[job] = true;
        for task in [prime, gun, tape] {
            self.early[task] = -NEVER;
            self.late[task] = self.last(problem, task);
        }
        self.trail.clear();
        self.queue.clear();
        let starts = if primed_before { &[gun, tape][..] } else { &[prime, gun, tape][..] };
        for &task in starts {
            let before = self.prev[task];
            let ready = if before == NONE { 0 } else { self.early[before] + Self::tail(problem, before) };
            if !self.push_later(problem, task, ready.max(0) + Self::lead(problem, task)) {
                return self.undo(problem, job);
            }
        }
        if !self.drain_later(problem) {
            return self.undo(problem, job);
        }
        for task in [prime, gun, tape] {
            if self.person[task] != NONE {
                self.late[task] = NEVER;
                let follows = self.next[task];
                let by = if follows == NONE { NEVER } else { self.late[follows] - Self::lead(problem, follows) };
                let by = by.min(self.last(problem, task) + Self::tail(problem, task));
                self.push_sooner(problem, task, by - Self::tail(problem, task));
            }
        }
        self.drain_sooner(problem);
        true
    }

    fn undo(&mut self, problem: &Problem, job: usize) -> bool {
        while let Some((task, early)) = self.trail.pop() {
            self.early[task] = early;
        }
        self.queue.clear();
        self.unlink_job(problem, job);
        false
    }

    /// The latest that a task may start with nobody else about.
    fn last(&self, problem: &Problem, task: usize) -> i32 {
        self.horizon - Self::tail(problem, task)
    }

    /// Works all times out again. `false`: the order can't be kept within the horizon, and times are not to be used.
    pub(super) fn propagate(&mut self, problem: &Problem) -> bool {
        self.trail.clear();
        self.queue.clear();
        for job in 0..self.placed.len() {
            for task in tasks_of(job) {
                self.early[task] = -NEVER;
                self.late[task] = self.last(problem, task);
            }
        }
        for person in 0..self.first.len() {
            let (mut task, mut ready) = (self.first[person], 0);
            while task != NONE {
                if !self.push_later(problem, task, ready + Self::lead(problem, task)) {
                    return false;
                }
                ready = self.early[task] + Self::tail(problem, task);
                task = self.next[task];
            }
        }
        if !self.drain_later(problem) {
            return false;
        }
        self.trail.clear();
        for job in 0..self.placed.len() {
            for task in tasks_of(job) {
                if self.person[task] != NONE {
                    let last = self.last(problem, task);
                    self.late[task] = NEVER;
                    self.push_sooner(problem, task, last);
                }
            }
        }
        self.drain_sooner(problem);
        true
    }

    fn push_later(&mut self, problem: &Problem, task: usize, least: i32) -> bool {
        if least <= self.early[task] {
            return true;
        }
        let at = match part_of(task) {
            Part::Prime => problem.prime_from(job_of(task), least),
            Part::Gun => problem.gun_from(job_of(task), least),
            Part::Tape => least.max(0),
        };
        if at > self.late[task] {
            return false;
        }
        if at > self.early[task] {
            self.trail.push((task, self.early[task]));
            self.early[task] = at;
            self.queue.push(task);
        }
        true
    }

    fn drain_later(&mut self, problem: &Problem) -> bool {
        let mut head = 0;
        while head < self.queue.len() {
            let task = self.queue[head];
            head += 1;
            self.steps += MOVE;
            let (job, at) = (job_of(task), self.early[task]);
            let work = &problem.jobs[job];
            let follows = self.next[task];
            if follows != NONE {
                let ready = at + Self::tail(problem, task) + Self::lead(problem, follows);
                if !self.push_later(problem, follows, ready) {
                    return false;
                }
            }
            let fits = match part_of(task) {
                Part::Prime => self.push_later(problem, Part::Gun.of(job), at + work.prime + problem.wait),
                Part::Gun => {
                    let end = at + work.gun;
                    let least = (end - problem.span).max(problem.dry_since(end));
                    self.push_later(problem, Part::Tape.of(job), end)
                        && (work.primed_before || self.push_later(problem, Part::Prime.of(job), least))
                }
                Part::Tape => self.push_later(problem, Part::Gun.of(job), at - work.tape_by),
            };
            if !fits {
                return false;
            }
        }
        self.queue.clear();
        true
    }

    fn push_sooner(&mut self, problem: &Problem, task: usize, most: i32) {
        if most >= self.late[task] {
            return;
        }
        let at = match part_of(task) {
            Part::Prime => problem.prime_by(job_of(task), most),
            Part::Gun => problem.gun_by(job_of(task), most),
            Part::Tape => most,
        };
        if at < self.late[task] {
            self.late[task] = at;
            self.queue.push(task);
        }
    }

    fn drain_sooner(&mut self, problem: &Problem) {
        let mut head = 0;
        while head < self.queue.len() {
            let task = self.queue[head];
            head += 1;
            self.steps += MOVE;
            let (job, at) = (job_of(task), self.late[task]);
            let work = &problem.jobs[job];
            let before = self.prev[task];
            if before != NONE {
                self.push_sooner(problem, before, at - Self::lead(problem, task) - Self::tail(problem, before));
            }
            match part_of(task) {
                Part::Prime => {
                    let by = (at + problem.span).min(problem.dry_until(at)) - work.gun;
                    self.push_sooner(problem, Part::Gun.of(job), by);
                }
                Part::Gun => {
                    self.push_sooner(problem, Part::Tape.of(job), at + work.tape_by);
                    if !work.primed_before {
                        self.push_sooner(problem, Part::Prime.of(job), at - problem.wait - work.prime);
                    }
                }
                Part::Tape => self.push_sooner(problem, Part::Gun.of(job), at - work.gun),
            }
        }
        self.queue.clear();
    }
}
