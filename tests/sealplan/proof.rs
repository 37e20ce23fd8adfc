//! Small days are planned as well as can be: held against every plan there is.

use cladlog::sealing::plan::{Day, Effort, Plan, PlannedJoint, plan};
use proptest::prelude::*;

use super::check::{Breach, check};
use super::days::{Range, any_day};

/// The best of all plans, by trying them all: (owed joints, joints, earliest finish).
///
/// Each joint is left out or put at every minute, with every person, that breaks no rule beside those put before; what
/// breaks a rule is left to the checker.
struct Brute<'a> {
    day: &'a Day,
    chosen: Vec<PlannedJoint>,
    best: (usize, usize, i32),
}

impl Brute<'_> {
    fn value(&self) -> (usize, usize, i32) {
        let owed = self.chosen.iter().filter(|joint| self.day.joints[joint.joint].primed.is_some()).count();
        let finish = self.chosen.iter().map(|joint| joint.done_at).max().unwrap_or(0);
        (owed, self.chosen.len(), -finish)
    }

    /// Whether what is chosen could still come to more than the best.
    fn hopeless(&self, next: usize) -> bool {
        let rest = &self.day.joints[next..];
        let owed = rest.iter().filter(|joint| joint.primed.is_some()).count();
        let (have, joints, finish) = self.value();
        (have + owed, joints + rest.len(), finish) <= self.best
    }

    fn fits(&self) -> bool {
        // Leaving the rest out is no breach here.
        let plan = Plan { joints: self.chosen.clone(), ..Plan::default() };
        check(self.day, &plan).iter().all(|breach| matches!(breach, Breach::NotOnce { .. }))
    }

    fn go(&mut self, index: usize) {
        if self.hopeless(index) {
            return;
        }
        let Some(joint) = self.day.joints.get(index) else {
            self.best = self.value();
            return;
        };
        let (until, crew, window) = (self.day.until, self.day.crew, self.day.window);
        let primes = match joint.primed {
            Some(primed) => primed.from..=primed.from,
            None => joint.mask..=until,
        };
        for prime_at in primes {
            let end = joint.primed.map_or(prime_at + joint.prime, |primed| primed.to);
            let opens = (end + window.earliest).max(0);
            for gun_at in opens..=(prime_at + window.latest).min(until) - joint.gun {
                let gun_end = gun_at + joint.gun;
                let by = gun_at + joint.tape_off_by(self.day.tape_off);
                for tape_off_at in gun_end..=by.min(until - joint.tape_off) {
                    for people in 0..crew * crew {
                        let (primer, gunner) = (people / crew + 1, people % crew + 1);
                        if joint.primed.is_some() && primer > 1 {
                            continue;
                        }
                        self.chosen.push(PlannedJoint {
                            joint: index,
                            mask_at: if joint.primed.is_some() { prime_at } else { prime_at - joint.mask },
                            prime_at,
                            gun_at,
                            tape_off_at,
                            done_at: tape_off_at + joint.tape_off,
                            primed_by: joint.primed.is_none().then_some(primer),
                            gunned_by: gunner,
                        });
                        if !self.hopeless(index + 1) && self.fits() {
                            self.go(index + 1);
                        }
                        self.chosen.pop();
                    }
                }
            }
        }
        self.go(index + 1);
    }
}

fn best(day: &Day) -> (usize, usize, i32) {
    let mut brute = Brute { day, chosen: Vec::new(), best: (0, 0, i32::MIN) };
    brute.go(0);
    brute.best
}

fn agrees(day: &Day) -> Result<(), TestCaseError> {
    let plan = plan(day, Effort(4_000_000), &mut || false);
    prop_assert_eq!(check(day, &plan), vec![]);
    let owed = plan.joints.iter().filter(|joint| day.joints[joint.joint].primed.is_some()).count();
    let ours = (owed, plan.joints.len(), -plan.finish().unwrap_or(0));
    prop_assert_eq!(ours, best(day), "ours, then the best of all");
    prop_assert!(plan.proven, "a day of so few joints is proved");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn three_joints_are_planned_as_well_as_can_be(day in any_day(Range {
        joints: 3, crew: 2, until: 16, rate: 2, length: 1, wait: 3, primed: true,
    })) {
        agrees(&day)?;
    }

    #[test]
    fn one_person_with_more_joints_too(day in any_day(Range {
        joints: 4, crew: 1, until: 14, rate: 1, length: 2, wait: 3, primed: false,
    })) {
        agrees(&day)?;
    }
}
