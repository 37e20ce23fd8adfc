//! The day as the solver sees it: tables that answer "the first allowed minute from here" at once.

use std::collections::BTreeMap;

use crate::sealing::plan::day::{Day, Joint, Span};

/// Later than any day: no minute is allowed.
pub(super) const NEVER: i32 = i32::MAX / 2;

/// The minutes at which one task may start.
#[derive(Debug)]
pub(super) struct Starts {
    /// The first allowed minute at or after each.
    later: Vec<i32>,
    /// The last allowed minute at or before each.
    sooner: Vec<i32>,
}

impl Starts {
    fn of(open: &[bool]) -> Self {
        let size = open.len();
        let (mut later, mut sooner) = (vec![NEVER; size], vec![-NEVER; size]);
        let mut seen = NEVER;
        for minute in (0..size).rev() {
            if open[minute] {
                seen = minute as i32;
            }
            later[minute] = seen;
        }
        seen = -NEVER;
        for minute in 0..size {
            if open[minute] {
                seen = minute as i32;
            }
            sooner[minute] = seen;
        }
        Self { later, sooner }
    }

    /// The first allowed minute at or after `minute`; [`NEVER`] when there is none.
    pub(super) fn from(&self, minute: i32) -> i32 {
        if minute <= 0 { self.later[0] } else { self.later.get(minute as usize).copied().unwrap_or(NEVER) }
    }

    /// The last allowed minute at or before `minute`; below 0 when there is none.
    pub(super) fn by(&self, minute: i32) -> i32 {
        if minute < 0 { -NEVER } else { self.sooner[(minute as usize).min(self.sooner.len() - 1)] }
    }

    /// How many minutes are allowed.
    pub(super) fn count(&self) -> usize {
        self.later.iter().enumerate().filter(|&(minute, &at)| minute as i32 == at).count()
    }
}

/// The minutes at which a task may start.
pub(super) struct OpenMinutes(pub(super) Vec<bool>);

impl OpenMinutes {
    /// Those at which one of `long` minutes ends by `until`.
    fn ended_by(until: i32, long: i32) -> Self {
        Self((0..=until.max(0)).map(|minute| minute + long <= until).collect())
    }

    /// Shuts the minutes from which `before` minutes earlier to `after` later would meet an interval: begin before its end
    /// and end after its start.
    fn shut(&mut self, spans: &[Span], before: i32, after: i32) {
        let most = self.0.len() as i32 - 1;
        for span in spans {
            let (first, last) = (span.from.saturating_sub(after - 1), span.to.saturating_add(before - 1));
            for minute in first.max(0)..=last.min(most) {
                self.0[minute as usize] = false;
            }
        }
    }

    /// When a joint may be primed, as far as sun and weather go.
    pub(super) fn to_prime(day: &Day, joint: &Joint) -> Self {
        let mut open = Self::ended_by(day.until, joint.prime);
        open.shut_out_of_shade(day, joint, joint.prime);
        open.shut(&day.rain, 0, joint.prime);
        if let Some(dry) = day.dry_before {
            let wet: Vec<Span> =
                day.rain.iter().map(|rain| Span { to: rain.to.saturating_add(dry), ..*rain }).collect();
            open.shut(&wet, joint.mask, joint.prime);
        }
        open
    }

    /// When a joint may be gunned, as far as sun and weather go.
    pub(super) fn to_gun(day: &Day, joint: &Joint) -> Self {
        let mut open = Self::ended_by(day.until, joint.gun);
        open.shut_out_of_shade(day, joint, joint.gun);
        open.shut(&day.rain, 0, joint.gun.saturating_add(day.dry_after_gun));
        open
    }

    fn shut_out_of_shade(&mut self, day: &Day, joint: &Joint, long: i32) {
        joint.walls.iter().for_each(|wall| self.shut(&day.walls[*wall].sun, 0, long));
        self.shut(&day.out_of_limits, 0, long);
    }
}

/// A joint as the solver sees it.
#[derive(Debug)]
pub(super) struct Job {
    pub(super) mask: i32,
    pub(super) prime: i32,
    pub(super) gun: i32,
    pub(super) tape: i32,
    /// All the work still to do.
    pub(super) work: i32,
    /// The latest that taking the tape off may begin, from the beginning of gunning.
    pub(super) tape_by: i32,
    /// The first of its walls.
    pub(super) wall: usize,
    /// Starts of priming and of gunning, as indices into the tables.
    prime_starts: usize,
    gun_starts: usize,
    /// Primed before the plan begins: nothing is left of masking and priming, and gunning is bounded by these.
    pub(super) primed_before: bool,
    /// Whether it could be sealed with the whole crew to itself.
    able: bool,
    gun_least: i32,
    gun_most: i32,
}

impl Job {
    /// Whether another can stand in its place.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        let key = |job: &Self| (job.prime_starts, job.gun_least, job.gun_most);
        key(self) == key(other)
    }
}

/// The day as the solver sees it.
#[derive(Debug)]
pub(super) struct Problem {
    pub(super) until: i32,
    pub(super) people: usize,
    /// Least minutes from the end of priming to the start of gunning.
    pub(super) wait: i32,
    /// Most minutes from the start of priming to the end of gunning.
    pub(super) span: i32,
    pub(super) jobs: Vec<Job>,
    tables: Vec<Starts>,
    /// The latest end of any rain that begins before each minute.
    rain_over: Vec<i32>,
    /// The earliest start of any rain that ends after each minute.
    rain_next: Vec<i32>,
}

impl Problem {
    pub(super) fn new(day: &Day) -> Self {
        let until = day.until;
        let size = until.max(0) as usize + 2;
        let mut rain_over = vec![-NEVER; size];
        let mut rain_next = vec![NEVER; size];
        for (minute, (over, next)) in rain_over.iter_mut().zip(rain_next.iter_mut()).enumerate() {
            let minute = minute as i32;
            *over = day.rain.iter().filter(|rain| rain.from < minute).map(|rain| rain.to).max().unwrap_or(-NEVER);
            *next = day.rain.iter().filter(|rain| rain.to > minute).map(|rain| rain.from).min().unwrap_or(NEVER);
        }
        let mut problem = Self {
            until,
            // Nobody works on two joints at once, so more people than joints would be idle.
            people: day.crew.min(day.joints.len()).max(1),
            wait: day.window.earliest,
            span: day.window.latest,
            jobs: Vec::new(),
            tables: Vec::new(),
            rain_over,
            rain_next,
        };
        let mut kinds = BTreeMap::new();
        for joint in &day.joints {
            let mut job = Job {
                mask: joint.mask,
                prime: joint.prime,
                gun: joint.gun,
                tape: joint.tape_off,
                work: joint.work(),
                tape_by: joint.tape_off_by(day.tape_off),
                wall: joint.walls.first().copied().unwrap_or_default(),
                prime_starts: 0,
                gun_starts: 0,
                primed_before: joint.primed.is_some(),
                able: false,
                gun_least: 0,
                gun_most: until - joint.gun - joint.tape_off,
            };
            if let Some(primed) = joint.primed {
                job.gun_least = primed.to + day.window.earliest;
                let rain = day.rain.iter().filter(|rain| rain.to > primed.from).map(|rain| rain.from).min();
                let closes = (primed.from + day.window.latest).min(rain.unwrap_or(NEVER));
                job.gun_most = job.gun_most.min(closes - joint.gun);
            }
            let kind = (&joint.walls, job.mask, job.prime, job.gun, job.tape, job.tape_by, job.primed_before);
            let tables = *kinds.entry(kind).or_insert_with(|| {
                let (prime, gun) = problem.starts(day, joint, &job);
                problem.tables.extend([prime, gun]);
                problem.tables.len() - 2
            });
            (job.prime_starts, job.gun_starts) = (tables, tables + 1);
            problem.jobs.push(job);
        }
        for job in 0..problem.jobs.len() {
            problem.jobs[job].able = problem.pair_from(job, 0, 0).is_some();
        }
        problem
    }

    /// Starts of priming that some gunning goes with, and the other way round.
    fn starts(&self, day: &Day, joint: &Joint, job: &Job) -> (Starts, Starts) {
        let (mut primes, mut guns) = (OpenMinutes::to_prime(day, joint).0, OpenMinutes::to_gun(day, joint).0);
        if job.tape_by < job.gun {
            // The skin forms before the bead is done: it can't be sealed in one go.
            guns.fill(false);
        }
        if job.primed_before {
            return (Starts::of(&primes), Starts::of(&guns));
        }
        for (minute, open) in guns.iter_mut().enumerate() {
            *open &= minute as i32 + job.gun + job.tape <= self.until;
        }
        let gun_starts = Starts::of(&guns);
        for (minute, open) in primes.iter_mut().enumerate() {
            let at = minute as i32;
            let by = at.saturating_add(self.span).min(self.dry_until(at)) - job.gun;
            *open &= at >= job.mask && gun_starts.from(at + job.prime + self.wait) <= by;
        }
        let prime_starts = Starts::of(&primes);
        for (minute, open) in guns.iter_mut().enumerate() {
            let end = minute as i32 + job.gun;
            let least = (end - self.span).max(self.dry_since(end));
            *open &= prime_starts.by(minute as i32 - self.wait - job.prime) >= least;
        }
        (prime_starts, Starts::of(&guns))
    }

    /// The first minute at or after `minute` at which priming may start; never before its masking fits.
    pub(super) fn prime_from(&self, job: usize, minute: i32) -> i32 {
        let job = &self.jobs[job];
        self.tables[job.prime_starts].from(minute.max(job.mask))
    }

    pub(super) fn prime_by(&self, job: usize, minute: i32) -> i32 {
        self.tables[self.jobs[job].prime_starts].by(minute)
    }

    /// The first minute at or after `minute` at which gunning may start.
    pub(super) fn gun_from(&self, job: usize, minute: i32) -> i32 {
        let job = &self.jobs[job];
        let at = self.tables[job.gun_starts].from(minute.max(job.gun_least));
        if at > job.gun_most { NEVER } else { at }
    }

    pub(super) fn gun_by(&self, job: usize, minute: i32) -> i32 {
        let job = &self.jobs[job];
        let at = self.tables[job.gun_starts].by(minute.min(job.gun_most));
        if at < job.gun_least { -NEVER } else { at }
    }

    /// Whether a joint could be sealed with the whole crew to itself.
    pub(super) fn able(&self, job: usize) -> bool {
        self.jobs[job].able
    }

    /// How many minutes of the day priming or gunning may start at, the fewer of the two.
    pub(super) fn room(&self, job: usize) -> usize {
        let job = &self.jobs[job];
        self.tables[job.gun_starts].count().min(self.tables[job.prime_starts].count())
    }

    /// Priming must not start before this when gunning ends at `end`: the rain before it is over by then.
    pub(super) fn dry_since(&self, end: i32) -> i32 {
        self.rain_over[(end.max(0) as usize).min(self.rain_over.len() - 1)]
    }

    /// Gunning must end by this when priming starts at `start`: the next rain.
    pub(super) fn dry_until(&self, start: i32) -> i32 {
        self.rain_next[(start.max(0) as usize).min(self.rain_next.len() - 1)]
    }

    /// The least priming start at or after `prime` and gunning start at or after `gun` that go together, with nobody
    /// else about; `None` when there are none. All the rules push later only, so the least is found by pushing.
    pub(super) fn pair_from(&self, job: usize, prime: i32, gun: i32) -> Option<(i32, i32)> {
        let work = &self.jobs[job];
        if work.primed_before {
            let gun = self.gun_from(job, gun);
            return (gun + work.gun + work.tape <= self.until).then_some((0, gun));
        }
        let (mut prime, mut gun) = (prime, gun);
        loop {
            prime = self.prime_from(job, prime);
            if prime >= NEVER {
                return None;
            }
            gun = self.gun_from(job, gun.max(prime + work.prime + self.wait));
            let end = gun.saturating_add(work.gun);
            if end + work.tape > self.until {
                return None;
            }
            let least = (end - self.span).max(self.dry_since(end));
            if prime >= least {
                return Some((prime, gun));
            }
            prime = least;
        }
    }
}
