//! Every plan there is, for days of a few joints: what the search found is bettered, or proved best.
//!
//! Tasks are put down in the order in which they begin, each by every person who may do it, at the earliest times which that
//! order leaves. An order is given up as soon as what is still to do can't end in time or can't come to enough joints.

use super::problem::{NEVER, Problem};
use super::rota::{PARTS, Part, Rota, job_of, part_of};
use super::search::{Score, Sealed};

/// Days of more joints have more plans than can be gone through.
pub(super) const MOST_JOINTS: usize = 6;

/// Who does a task.
#[derive(Debug, Clone, Copy)]
struct Put {
    task: usize,
    person: usize,
}

/// The plans of a day, gone through one after the other.
pub(super) struct Exact<'a> {
    problem: &'a Problem,
    /// Elementary steps left.
    steps: u64,
    stop: &'a mut dyn FnMut() -> bool,
    /// What a plan has to come to, and by when it has to be done.
    least: Sealed,
    horizon: i32,
    /// The tasks put down so far, in the order in which they begin.
    order: Vec<Put>,
    /// When each begins; [`NEVER`] where it is not put down.
    begins: Vec<i32>,
    /// Of joints alike, the one before: they are begun in their order.
    alike: Vec<Option<usize>>,
}

impl<'a> Exact<'a> {
    pub(super) fn new(problem: &'a Problem, steps: u64, stop: &'a mut dyn FnMut() -> bool) -> Self {
        let alike = |job: usize| (0..job).rev().find(|other| problem.jobs[*other].is_like(&problem.jobs[job]));
        Self {
            problem,
            steps,
            stop,
            least: Sealed { primed_before: 0, all: 0 },
            horizon: problem.until,
            order: Vec::new(),
            begins: vec![NEVER; PARTS * problem.jobs.len()],
            alike: (0..problem.jobs.len()).map(alike).collect(),
        }
    }

    /// The best plan, where it is better than this one: more joints, or as many and an earlier finish.
    pub(super) fn better_than(&mut self, rota: Rota, most: Sealed) -> Rota {
        let mut best = rota;
        loop {
            let sealed = Score::of(self.problem, &best).sealed;
            let more = Sealed { all: sealed.all + 1, ..sealed };
            let found = if sealed < most { self.find(more, self.problem.until) } else { None };
            let found = match found {
                None if sealed.all > 0 => self.find(sealed, best.finish(self.problem) - 1),
                found => found,
            };
            match found {
                Some(better) => best = better,
                None => return best,
            }
        }
    }

    /// Whether all plans were gone through, so that what was found is the best.
    pub(super) fn is_done(&self) -> bool {
        self.steps > 0
    }

    /// A plan of at least so many joints that is done by `horizon`; nothing where there is none, or where the steps ran out.
    fn find(&mut self, least: Sealed, horizon: i32) -> Option<Rota> {
        (self.least, self.horizon) = (least, horizon);
        self.order.clear();
        self.begins.fill(NEVER);
        let found = self.go_on(0).then(|| self.order.iter().map(|put| (put.task, put.person)));
        found.and_then(|order| Rota::in_order(self.problem, order))
    }

    /// The task of a joint that comes next; nothing once its tape is off.
    fn next_of(&self, job: usize) -> Option<usize> {
        let first = if self.problem.jobs[job].primed_before { Part::Gun } else { Part::Prime };
        (first.of(job)..=Part::Tape.of(job)).find(|task| self.begins[*task] == NEVER)
    }

    fn is_begun(&self, job: usize) -> bool {
        self.begins[Part::Prime.of(job)] < NEVER || self.begins[Part::Gun.of(job)] < NEVER
    }

    /// Puts one more task down, in every way there is; whether that came to a plan. `now` is when the last one begins.
    fn go_on(&mut self, now: i32) -> bool {
        if (self.stop)() {
            self.steps = 0;
        }
        match self.prospect(now) {
            Prospect::None => return false,
            Prospect::Plan => return true,
            Prospect::Open => {}
        }
        let people =
            (0..self.problem.people).filter(|person| self.order.iter().any(|put| put.person == *person)).count();
        for job in 0..self.problem.jobs.len() {
            let Some(task) = self.next_of(job) else { continue };
            let waits = |other: usize| !self.is_begun(other);
            if !self.is_begun(job) && self.alike[job].is_some_and(waits) {
                continue;
            }
            // Whoever gunned takes the tape off; of people who have done nothing yet one is as good as another.
            let of_gunner =
                self.order.iter().find(|put| part_of(task) == Part::Tape && put.task + 1 == task).map(|put| put.person);
            let all = of_gunner.map_or(0..(people + 1).min(self.problem.people), |person| person..person + 1);
            for person in all {
                if self.steps == 0 {
                    return false;
                }
                let before = self.begins.clone();
                self.order.push(Put { task, person });
                self.begins[task] = 0;
                if let Some(now) = self.earliest()
                    && self.go_on(now)
                {
                    return true;
                }
                self.order.pop();
                self.begins = before;
            }
        }
        false
    }

    /// Brings every task to its earliest time; when the last one begins, or nothing where the order can't be kept.
    ///
    /// Every rule pushes later only, so that pushing until nothing moves ends at the earliest times.
    fn earliest(&mut self) -> Option<i32> {
        let mut free = vec![0; self.problem.people];
        loop {
            let (mut moved, mut last) = (false, 0);
            free.fill(0);
            for &Put { task, person } in &self.order {
                self.steps = self.steps.saturating_sub(1);
                let least = self.begins[task].max(last).max(free[person] + Rota::lead(self.problem, task));
                let at = self.at_least(task, least.max(self.needed(task)));
                let end = at.saturating_add(Rota::tail(self.problem, task));
                if end > self.horizon {
                    return None;
                }
                moved |= at > self.begins[task];
                self.begins[task] = at;
                (last, free[person]) = (at, end);
            }
            if !moved {
                return Some(last);
            }
        }
    }

    /// The first minute from `least` on at which a task may begin.
    fn at_least(&self, task: usize, least: i32) -> i32 {
        match part_of(task) {
            Part::Prime => self.problem.prime_from(job_of(task), least),
            Part::Gun => self.problem.gun_from(job_of(task), least),
            Part::Tape => least,
        }
    }

    /// When a task may begin at the earliest for the sake of the others of its joint.
    fn needed(&self, task: usize) -> i32 {
        let (problem, work) = (self.problem, &self.problem.jobs[job_of(task)]);
        let begun = |part: Part| Some(self.begins[part.of(job_of(task))]).filter(|at| *at < NEVER);
        match part_of(task) {
            Part::Prime => begun(Part::Gun).map_or(0, |gun| {
                let end = gun + work.gun;
                (end - problem.span).max(problem.dry_since(end))
            }),
            Part::Gun => {
                let primed = begun(Part::Prime).map_or(0, |prime| prime + work.prime + problem.wait);
                begun(Part::Tape).map_or(primed, |tape| primed.max(tape - work.tape_by))
            }
            Part::Tape => begun(Part::Gun).map_or(0, |gun| gun + work.gun),
        }
    }

    /// What the tasks put down so far may still come to, where no other begins before `now`.
    fn prospect(&self, now: i32) -> Prospect {
        let problem = self.problem;
        let (mut sealed, mut begun_work, mut rest) = (Sealed { primed_before: 0, all: 0 }, 0, Vec::new());
        let mut is_open = false;
        let (mut able_before, mut able) = (0, 0);
        for (job, work) in problem.jobs.iter().enumerate() {
            let next = self.next_of(job);
            let fits = match next.map(part_of) {
                None => true,
                Some(Part::Tape) => now.max(self.begins[Part::Gun.of(job)] + work.gun) + work.tape <= self.horizon,
                Some(kind) => {
                    let prime = if kind == Part::Prime { now } else { self.begins[Part::Prime.of(job)].min(now) };
                    let pair = problem.pair_from(job, prime, now);
                    pair.is_some_and(|(_, gun)| gun + work.gun + work.tape <= self.horizon)
                }
            };
            let is_begun = self.is_begun(job);
            match (is_begun, fits) {
                (true, false) => return Prospect::None,
                (true, true) => {
                    sealed.all += 1;
                    sealed.primed_before += usize::from(work.primed_before);
                    begun_work += match next.map(part_of) {
                        Some(Part::Gun) => work.gun + work.tape,
                        Some(_) => work.tape,
                        None => 0,
                    };
                    is_open |= next.is_some();
                }
                (false, true) => {
                    able += 1;
                    able_before += usize::from(work.primed_before);
                    rest.push(work.work);
                }
                (false, false) => {}
            }
        }
        if !is_open && sealed >= self.least {
            return Prospect::Plan;
        }
        let most = Sealed { primed_before: sealed.primed_before + able_before, all: sealed.all + able };
        rest.sort_unstable();
        // More of those primed already make up for any number of others.
        let wanting = match most.primed_before > self.least.primed_before {
            true => 0,
            false => self.least.all.saturating_sub(sealed.all),
        };
        let work = begun_work + rest.iter().take(wanting).sum::<i32>();
        if most < self.least || work > self.room(now) {
            return Prospect::None;
        }
        Prospect::Open
    }

    /// The minutes that all people have left, masking begun before what is primed from `now` on included.
    fn room(&self, now: i32) -> i32 {
        let masking = self.problem.jobs.iter().map(|job| job.mask).max().unwrap_or(0);
        let mut free = vec![0; self.problem.people];
        for put in &self.order {
            free[put.person] = self.begins[put.task] + Rota::tail(self.problem, put.task);
        }
        free.into_iter().map(|free| (self.horizon - free.max(now - masking)).max(0)).sum()
    }
}

/// What the tasks put down so far may come to.
enum Prospect {
    /// No plan that is wanted.
    None,
    /// They are one.
    Plan,
    /// More has to be put down.
    Open,
}
