//! Why a joint is left out, in words for that joint.

use super::problem::{Problem, open_minutes};
use crate::sealing::plan::day::{Day, Joint};

/// The reason that holds for the joint alone, or that the day is full.
pub(super) fn left_out(day: &Day, problem: &Problem, index: usize) -> String {
    let joint = &day.joints[index];
    let window = day.window;
    let (earliest, latest) = (window.earliest, window.latest);
    if let Some(primed) = joint.primed {
        return primed_before(day, problem, joint, index, primed.from);
    }
    if !day.window_can_be_met(joint) {
        let (prime, gun) = (joint.prime, joint.gun);
        let needed = prime + earliest + gun;
        let left = if latest < 0 { "nothing".to_owned() } else { format!("{latest} min") };
        return format!(
            "the window can't be met: priming {prime} min, waiting {earliest} min and gunning {gun} min make \
             {needed} min, and the latest less the margin leaves {left}"
        );
    }
    let until = clock(day, day.until);
    let needed = joint.mask + joint.prime + earliest + joint.gun + joint.tape_off;
    if needed > day.until {
        let has = day.until;
        return format!("the day is too short: masking to tape off takes {needed} min at least, the day has {has} min");
    }
    let wall = &day.walls[joint.wall].key;
    let shut = [&day.walls[joint.wall].sun[..], &day.rain[..]];
    let opens =
        |long: i32, from: i32| open_minutes(long, &shut, day.until).iter().skip(from.max(0) as usize).any(|&open| open);
    if !opens(joint.prime, joint.mask) {
        let prime = joint.prime;
        return format!("no {prime} min to prime in shade and dry on wall {wall} after masking and before {until}");
    }
    if !opens(joint.gun, joint.mask + joint.prime + earliest) {
        return format!(
            "no {} min to gun in shade and dry on wall {wall} once the primer has waited {earliest} min, before {until}",
            joint.gun
        );
    }
    if !problem.able(index) {
        return format!(
            "no time to prime and then gun on wall {wall} inside the window (after {earliest} min, within {latest} \
             min) in shade, with no rain between and done before {until}"
        );
    }
    format!("no time left: it could be sealed alone, but not beside the joints planned, by a crew of {}", day.crew)
}

fn primed_before(day: &Day, problem: &Problem, joint: &Joint, index: usize, primed: i32) -> String {
    let at = clock(day, primed);
    let closes = clock(day, primed.saturating_add(day.window.latest));
    if !problem.able(index) {
        return format!(
            "primed at {at}, it can't be gunned in shade and dry before its window closes at {closes}: mask and \
             prime it again"
        );
    }
    format!(
        "primed at {at}, and nobody is free for the {} min of gunning before its window closes at {closes}: mask and \
         prime it again",
        joint.gun
    )
}

fn clock(day: &Day, minute: i32) -> String {
    let moment = day.moment(minute);
    if moment.date() == day.origin.date() {
        moment.format("%H:%M").to_string()
    } else {
        moment.format("%-d %b %H:%M").to_string()
    }
}
