//! Holds a plan against the rules, one by one, as the rules are written; it shares nothing with what makes the plan.

use std::collections::BTreeMap;

use cladlog::sealing::plan::{Day, Joint, Plan, PlannedJoint, Primed, Span, TapeOff, Task};

/// A rule that a plan breaks. Minutes are those of the day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is and what its fields are")]
pub enum Breach {
    #[error("joint number {index} is not in the day")]
    NoSuchJoint { index: usize },
    #[error("joint {id} is planned or left out {times} times, not once")]
    NotOnce { id: String, times: usize },
    #[error("joint {id}: priming at minute {prime_at} does not follow straight on masking, which ends at {mask_end}")]
    NotStraightOn { id: String, mask_end: i32, prime_at: i32 },
    #[error("joint {id}: gunning at minute {gun_at}, before the window opens at {opens}")]
    TooEarly { id: String, gun_at: i32, opens: i32 },
    #[error("joint {id}: gunning ends at minute {gun_end}, after the window less its margin closes at {closes}")]
    TooLate { id: String, gun_end: i32, closes: i32 },
    #[error("joint {id}: tape off at minute {tape_off_at}, not from {from} to {to}")]
    Tape { id: String, tape_off_at: i32, from: i32, to: i32 },
    #[error("joint {id}: done at minute {done_at}, tape off ends at {tape_end}")]
    Done { id: String, done_at: i32, tape_end: i32 },
    #[error("joint {id}: {} from minute {from} to {to} is in the sun", task.word())]
    InSun { id: String, task: Task, from: i32, to: i32 },
    #[error("joint {id}: {} from minute {from} to {to} is in weather outside the limits", task.word())]
    OutOfLimits { id: String, task: Task, from: i32, to: i32 },
    #[error("joint {id}: {} from minute {from} to {to} is in the rain", task.word())]
    InRain { id: String, task: Task, from: i32, to: i32 },
    #[error("joint {id}: masked and primed from minute {from} to {to}, {dry} min or less after the rain until {rain}")]
    StillWet { id: String, from: i32, to: i32, rain: i32, dry: i32 },
    #[error("joint {id}: rain at minute {rain}, not {dry} min after gunning ends at {gun_end}")]
    NotDry { id: String, gun_end: i32, rain: i32, dry: i32 },
    #[error("joint {id}: rain at minute {rain} between priming and the end of gunning")]
    RainBetween { id: String, rain: i32 },
    #[error("joint {id}: work from minute {from} to {to} is not inside the day, 0 to {until}")]
    OutsideDay { id: String, from: i32, to: i32, until: i32 },
    #[error("joint {id}: person {person} is not in the crew of {crew}")]
    NotInCrew { id: String, person: usize, crew: usize },
    #[error("joint {id}: who primes it is not as the day says")]
    Primer { id: String },
    #[error("person {person} is on joint {first} until minute {until} and on joint {second} from {from}")]
    TwoAtOnce { person: usize, first: String, until: i32, second: String, from: i32 },
}

/// Every rule that `plan` breaks on `day`; none for a plan that can be worked.
pub fn check(day: &Day, plan: &Plan) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut times = vec![0; day.joints.len()];
    let named = plan.joints.iter().map(|joint| joint.joint).chain(plan.left_out.iter().map(|left| left.joint));
    for index in named {
        match times.get_mut(index) {
            Some(count) => *count += 1,
            None => breaches.push(Breach::NoSuchJoint { index }),
        }
    }
    for (joint, times) in day.joints.iter().zip(times) {
        if times != 1 {
            breaches.push(Breach::NotOnce { id: joint.id.clone(), times });
        }
    }
    let mut busy: BTreeMap<usize, Vec<(i32, i32, &str)>> = BTreeMap::new();
    for planned in &plan.joints {
        let Some(joint) = day.joints.get(planned.joint) else { continue };
        one_joint(day, joint, planned, &mut breaches);
        let id = joint.id.as_str();
        if let Some(primer) = planned.primed_by {
            let stints = busy.entry(primer).or_default();
            // Priming is straight after masking: nothing comes between, not even what takes no time.
            stints.push((planned.mask_at, planned.prime_at + joint.prime, id));
        }
        let stints = busy.entry(planned.gunned_by).or_default();
        stints.push((planned.gun_at, planned.gun_at + joint.gun, id));
        stints.push((planned.tape_off_at, planned.tape_off_at + joint.tape_off, id));
    }
    for (person, mut stints) in busy {
        stints.sort_unstable();
        let mut until = (i32::MIN, "");
        for (from, to, id) in stints {
            if from < until.0 {
                let (first, second) = (until.1.to_owned(), id.to_owned());
                breaches.push(Breach::TwoAtOnce { person, first, until: until.0, second, from });
            }
            if to > until.0 {
                until = (to, id);
            }
        }
    }
    breaches
}

fn one_joint(day: &Day, joint: &Joint, planned: &PlannedJoint, breaches: &mut Vec<Breach>) {
    let id = || joint.id.clone();
    let PlannedJoint { mask_at, prime_at, gun_at, tape_off_at, done_at, primed_by, gunned_by, .. } = *planned;
    let gun_end = gun_at + joint.gun;
    let (prime_from, prime_end) = match joint.primed {
        Some(Primed { from, to }) => (from, to),
        None => (prime_at, prime_at + joint.prime),
    };
    if primed_by.is_some() == joint.primed.is_some() || joint.primed.is_some_and(|primed| primed.from != prime_at) {
        breaches.push(Breach::Primer { id: id() });
    }
    if joint.primed.is_none() {
        if mask_at + joint.mask != prime_at {
            breaches.push(Breach::NotStraightOn { id: id(), mask_end: mask_at + joint.mask, prime_at });
        }
        inside(day, joint, mask_at, prime_end, breaches);
        outside(day, joint, Task::Prime, prime_at, prime_end, breaches);
        for (dry, rain) in day.dry_before.into_iter().flat_map(|dry| day.rain.iter().map(move |rain| (dry, rain))) {
            if meets(&Span { from: rain.from, to: rain.to + dry }, mask_at, prime_end) {
                breaches.push(Breach::StillWet { id: id(), from: mask_at, to: prime_end, rain: rain.to, dry });
            }
        }
    }
    let opens = prime_end + day.window.earliest;
    if gun_at < opens {
        breaches.push(Breach::TooEarly { id: id(), gun_at, opens });
    }
    let closes = prime_from + day.window.latest;
    if gun_end > closes {
        breaches.push(Breach::TooLate { id: id(), gun_end, closes });
    }
    let (tape_off_by, to) = match day.tape_off {
        TapeOff::AfterGunning(within) => (tape_off_at, gun_end + within),
        TapeOff::FromBead(within) => {
            // Each bead is done with before the next: of the last one the tape is off in time.
            let (gun, tape_off) = (of_last(joint.gun, joint.beads), of_last(joint.tape_off, joint.beads));
            (tape_off_at + tape_off, gun_end - gun + within)
        }
    };
    if tape_off_at < gun_end || tape_off_by > to {
        breaches.push(Breach::Tape { id: id(), tape_off_at, from: gun_end, to });
    }
    if done_at != tape_off_at + joint.tape_off {
        breaches.push(Breach::Done { id: id(), done_at, tape_end: tape_off_at + joint.tape_off });
    }
    inside(day, joint, gun_at, done_at, breaches);
    outside(day, joint, Task::Gun, gun_at, gun_end, breaches);
    for rain in &day.rain {
        if meets(rain, prime_from, gun_end) {
            breaches.push(Breach::RainBetween { id: id(), rain: rain.from });
        }
        let dry = day.dry_after_gun;
        if meets(rain, gun_at, gun_end + dry) {
            breaches.push(Breach::NotDry { id: id(), gun_end, rain: rain.from, dry });
        }
    }
    for person in primed_by.into_iter().chain([gunned_by]) {
        if person < 1 || person > day.crew {
            breaches.push(Breach::NotInCrew { id: id(), person, crew: day.crew });
        }
    }
}

/// The minutes of the last of several equal beads, in whole minutes.
fn of_last(minutes: i32, beads: i32) -> i32 {
    (f64::from(minutes) / f64::from(beads)).ceil() as i32
}

/// Work must lie inside the day.
fn inside(day: &Day, joint: &Joint, from: i32, to: i32, breaches: &mut Vec<Breach>) {
    if from < 0 || to > day.until {
        breaches.push(Breach::OutsideDay { id: joint.id.clone(), from, to, until: day.until });
    }
}

/// Priming and gunning must lie outside sun and rain.
fn outside(day: &Day, joint: &Joint, task: Task, from: i32, to: i32, breaches: &mut Vec<Breach>) {
    let id = || joint.id.clone();
    let mut walls = joint.walls.iter().filter_map(|wall| day.walls.get(*wall));
    if walls.any(|wall| wall.sun.iter().any(|sun| meets(sun, from, to))) {
        breaches.push(Breach::InSun { id: id(), task, from, to });
    }
    if day.out_of_limits.iter().any(|shut| meets(shut, from, to)) {
        breaches.push(Breach::OutOfLimits { id: id(), task, from, to });
    }
    if day.rain.iter().any(|rain| meets(rain, from, to)) {
        breaches.push(Breach::InRain { id: id(), task, from, to });
    }
}

/// Half-open intervals: touching is not meeting.
fn meets(span: &Span, from: i32, to: i32) -> bool {
    span.from < to && from < span.to
}
