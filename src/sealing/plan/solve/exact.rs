//! Exact search on small days: is there any plan with so many joints that is done by a given minute?
//!
//! The question goes to a constraint solver that learns from conflicts (`pumpkin`), as a model written from the rules.
//! It answers with a plan or with a proof that there is none; only running out of steps leaves the question open.

use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
use pumpkin_constraints::{cumulative, less_than_or_equals};
use pumpkin_core::Solver;
use pumpkin_core::options::SolverOptions;
use pumpkin_core::predicate;
use pumpkin_core::proof::ConstraintTag;
use pumpkin_core::results::{ProblemSolution, SatisfactionResult};
use pumpkin_core::termination::TerminationCondition;
use pumpkin_core::variables::{DomainId, Literal, TransformableVariable};

use super::problem::Problem;
use super::rota::{GUN, PRIME, Rota, TAPE};
use super::search::Score;

/// Days of up to so many joints are planned exactly.
pub(super) const SMALL: usize = 8;
/// Days of up to so many are taken to the exact search too, though it won't always end in its steps.
pub(super) const MIDDLING: usize = 16;

/// What the exact search found.
pub(super) enum Answer {
    /// A better plan.
    Found(Box<Rota>),
    /// Proof that there is none.
    Impossible,
    /// The steps ran out first.
    Open,
}

/// Counts the solver's steps: time would make the plan depend on the machine.
struct Steps<'a> {
    left: &'a mut u64,
    stop: &'a mut dyn FnMut() -> bool,
}

impl TerminationCondition for Steps<'_> {
    fn should_stop(&mut self) -> bool {
        *self.left = self.left.saturating_sub(1);
        *self.left == 0 || (self.left.is_multiple_of(256) && (self.stop)())
    }
}

/// A task in the model: its start, what it takes before and after it, and who may do it.
struct Piece {
    task: usize,
    start: DomainId,
    lead: i32,
    tail: i32,
    who: Vec<Literal>,
}

/// The model of the day.
struct Model<'a> {
    problem: &'a Problem,
    horizon: i32,
    solver: Solver,
    tag: ConstraintTag,
    /// Joint, and whether it is sealed.
    jobs: Vec<(usize, Literal)>,
    pieces: Vec<Piece>,
    /// For each piece of work that one person does, who may do it.
    groups: Vec<Vec<Literal>>,
}

/// Looks for a plan that seals at least `least` (owed joints first, then all) and is done by `horizon`.
pub(super) fn search(
    problem: &Problem,
    least: (usize, usize),
    horizon: i32,
    steps: &mut u64,
    stop: &mut dyn FnMut() -> bool,
) -> Answer {
    let options = SolverOptions { memory_preallocated: 4, ..SolverOptions::default() };
    let mut solver = Solver::with_options(options);
    let tag = solver.new_constraint_tag();
    let mut model = Model { problem, horizon, solver, tag, jobs: Vec::new(), pieces: Vec::new(), groups: Vec::new() };
    for job in 0..problem.jobs.len() {
        model.job(job);
    }
    let Some(spare) = model.count(least) else { return Answer::Impossible };
    model.apart();
    model.alike();
    if spare == 0 {
        model.crowd();
    }
    let Model { mut solver, jobs, pieces, .. } = model;
    let mut brancher = solver.default_brancher();
    let mut resolver = ResolutionResolver::default();
    let mut steps = Steps { left: steps, stop };
    match solver.satisfy(&mut brancher, &mut steps, &mut resolver) {
        SatisfactionResult::Satisfiable(found) => {
            let solution = found.solution();
            let mut orders = vec![Vec::new(); problem.people];
            for piece in &pieces {
                let sealed =
                    jobs.iter().any(|&(job, sealed)| job == piece.task / 3 && solution.get_literal_value(sealed));
                let who = piece.who.iter().position(|&who| solution.get_literal_value(who));
                if let (true, Some(person)) = (sealed, who) {
                    let from = solution.get_integer_value(piece.start) - piece.lead;
                    let to = solution.get_integer_value(piece.start) + piece.tail;
                    // Of tasks that take no time at one moment, a joint's own go in their order.
                    orders[person].push((from, to, piece.task % 3, piece.task));
                }
            }
            let orders = orders.into_iter().map(|mut order| {
                order.sort_unstable();
                order.into_iter().map(|(.., task)| task).collect::<Vec<_>>()
            });
            let mut rota = Rota::of(problem, &orders.collect::<Vec<_>>(), horizon);
            if rota.settle(problem) && Score::reaches(problem, &rota, least) {
                Answer::Found(Box::new(rota))
            } else {
                Answer::Open
            }
        }
        SatisfactionResult::Unsatisfiable(..) => Answer::Impossible,
        SatisfactionResult::Unknown(..) => Answer::Open,
    }
}

impl Model<'_> {
    /// One joint: its times, its window, its weather and its people. A joint that can't be sealed has no part in it.
    fn job(&mut self, job: usize) {
        let problem = self.problem;
        let work = &problem.jobs[job];
        let primes = allowed(self.horizon, |minute| problem.prime_from(job, minute));
        let guns = allowed(self.horizon - work.gun - work.tape, |minute| problem.gun_from(job, minute));
        if guns.is_empty() || (primes.is_empty() && !work.owed) {
            return;
        }
        let sealed = self.solver.new_literal();
        let gun = self.solver.new_named_sparse_integer(guns, "gun");
        let tape = self.solver.new_bounded_integer(0, self.horizon - work.tape);
        self.after(gun, work.gun, tape, sealed);
        self.after(tape, -work.gun - problem.tape_within, gun, sealed);
        if !work.owed {
            let prime = self.solver.new_named_sparse_integer(primes, "prime");
            self.after(prime, work.prime + problem.wait, gun, sealed);
            self.after(gun, work.gun - problem.span, prime, sealed);
            self.dry(job, prime, gun, sealed);
            let who = self.crew(sealed);
            self.pieces.push(Piece { task: 3 * job + PRIME, start: prime, lead: work.mask, tail: work.prime, who });
        }
        let who = self.crew(sealed);
        self.pieces.push(Piece { task: 3 * job + GUN, start: gun, lead: 0, tail: work.gun, who: who.clone() });
        self.pieces.push(Piece { task: 3 * job + TAPE, start: tape, lead: 0, tail: work.tape, who });
        self.jobs.push((job, sealed));
    }

    /// `first + long <= second`, where `when` holds.
    fn after(&mut self, first: DomainId, long: i32, second: DomainId, when: Literal) {
        let terms = vec![first.scaled(1), second.scaled(-1)];
        let rule = less_than_or_equals(terms, -long, self.tag);
        self.solver.add_constraint(rule).implied_by(when);
    }

    /// No rain from priming to the end of gunning: each minute at which the next rain changes is one rain.
    fn dry(&mut self, job: usize, prime: DomainId, gun: DomainId, sealed: Literal) {
        let long = self.problem.jobs[job].gun;
        let no = sealed.get_false_predicate();
        let mut minute = 0;
        while minute <= self.horizon {
            let rain = self.problem.dry_until(minute);
            if rain > self.horizon {
                return;
            }
            let over = (minute..=self.horizon).find(|&later| self.problem.dry_until(later) != rain);
            let over = over.unwrap_or(self.horizon + 1);
            let (ended, begun) = (rain - long, over);
            self.solver.add_clause([no, predicate!(gun <= ended), predicate!(prime >= begun)], self.tag);
            minute = over;
        }
    }

    /// One person where `sealed` holds, nobody otherwise.
    fn crew(&mut self, sealed: Literal) -> Vec<Literal> {
        let people = self.problem.people;
        let who = (0..people.min(self.groups.len() + 1)).map(|_| self.solver.new_literal()).collect::<Vec<_>>();
        let no = sealed.get_false_predicate();
        self.solver.add_clause(who.iter().map(|who| who.get_true_predicate()).chain([no]), self.tag);
        for (nth, one) in who.iter().enumerate() {
            self.solver.add_clause([one.get_false_predicate(), sealed.get_true_predicate()], self.tag);
            for other in &who[..nth] {
                self.solver.add_clause([one.get_false_predicate(), other.get_false_predicate()], self.tag);
            }
            // People are alike: each is called on only after the one before has been.
            if let Some(before) = nth.checked_sub(1) {
                let called = self.groups.iter().filter_map(|group| group.get(before));
                let called = called.map(|who| who.get_true_predicate()).chain([one.get_false_predicate()]);
                self.solver.add_clause(called.collect::<Vec<_>>(), self.tag);
            }
        }
        self.groups.push(who.clone());
        who
    }

    /// At least so many joints, an owed one counting for more than all others together. Gives what the joints are worth
    /// beyond that; `None` when they are not worth so much.
    fn count(&mut self, least: (usize, usize)) -> Option<i32> {
        let weight = self.problem.jobs.len() as i32 + 1;
        let worth = |job: usize| if self.problem.jobs[job].owed { weight } else { 1 };
        // `least` counts the owed among all the joints.
        let needed = least.0 as i32 * weight + least.1.saturating_sub(least.0) as i32;
        let spare = self.jobs.iter().map(|&(job, _)| worth(job)).sum::<i32>() - needed;
        if spare < 0 {
            return None;
        }
        let terms = self.jobs.iter().map(|&(job, sealed)| sealed.scaled(-worth(job))).collect::<Vec<_>>();
        let rule = less_than_or_equals(terms, -needed, self.tag);
        self.solver.add_constraint(rule).post();
        Some(spare)
    }

    /// Nobody does two things at once.
    fn apart(&mut self) {
        for second in 1..self.pieces.len() {
            for first in 0..second {
                let (a, b) = (&self.pieces[first], &self.pieces[second]);
                // A joint's own tasks come one after another anyway.
                if a.task / 3 == b.task / 3 {
                    continue;
                }
                let (start_a, start_b) = (a.start, b.start);
                let (a_then_b, b_then_a) = (a.tail + b.lead, b.tail + a.lead);
                let together = a.who.iter().zip(&b.who).map(|(&a, &b)| (a, b)).collect::<Vec<_>>();
                let (a_first, b_first) = (self.solver.new_literal(), self.solver.new_literal());
                let rule = less_than_or_equals(vec![start_a.scaled(1), start_b.scaled(-1)], -a_then_b, self.tag);
                self.solver.add_constraint(rule).reify(a_first);
                let rule = less_than_or_equals(vec![start_b.scaled(1), start_a.scaled(-1)], -b_then_a, self.tag);
                self.solver.add_constraint(rule).reify(b_first);
                for (a, b) in together {
                    let clause = [
                        a.get_false_predicate(),
                        b.get_false_predicate(),
                        a_first.get_true_predicate(),
                        b_first.get_true_predicate(),
                    ];
                    self.solver.add_clause(clause, self.tag);
                }
            }
        }
    }

    /// Joints that are alike are sealed in their order, and the first of them first: swapping them changes nothing.
    fn alike(&mut self) {
        for second in 1..self.jobs.len() {
            let Some(first) =
                (0..second).rev().find(|&first| self.problem.alike(self.jobs[first].0, self.jobs[second].0))
            else {
                continue;
            };
            let ((one, one_sealed), (two, two_sealed)) = (self.jobs[first], self.jobs[second]);
            self.solver.add_clause([two_sealed.get_false_predicate(), one_sealed.get_true_predicate()], self.tag);
            let start =
                |job: usize| self.pieces.iter().find(|piece| piece.task == 3 * job + PRIME).map(|piece| piece.start);
            if let (Some(one), Some(two)) = (start(one), start(two)) {
                self.after(one, 0, two, two_sealed);
            }
        }
    }

    /// All at work at any one time are no more than the crew: says nothing new, but sooner.
    fn crowd(&mut self) {
        let busy = self.pieces.iter().filter(|piece| piece.lead + piece.tail > 0).collect::<Vec<_>>();
        let starts = busy.iter().map(|piece| piece.start.offset(-piece.lead)).collect::<Vec<_>>();
        let long = busy.iter().map(|piece| piece.lead + piece.tail).collect::<Vec<_>>();
        let ones = vec![1; busy.len()];
        let rule = cumulative(starts, long, ones, self.problem.people as i32, self.tag);
        self.solver.add_constraint(rule).post();
    }
}

/// The allowed minutes up to `most`.
fn allowed(most: i32, from: impl Fn(i32) -> i32) -> Vec<i32> {
    let mut minutes = Vec::new();
    let mut minute = from(0);
    while minute <= most {
        minutes.push(minute);
        minute = from(minute + 1);
    }
    minutes
}
