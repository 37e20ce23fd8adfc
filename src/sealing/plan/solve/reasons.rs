//! Why a joint is left out, in words for that joint.

use super::problem::{OpenMinutes, Problem};
use crate::sealing::plan::day::{Day, Joint, TapeOff};

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
    if let TapeOff::FromBead(within) = day.tape_off
        && joint.tape_off_by(day.tape_off) < joint.gun
    {
        let (gun, tape_off) = (joint.gun, joint.tape_off);
        return format!(
            "too long to be off in time: gunning takes {gun} min and taking the tape off {tape_off} min, and the tape is to \
             be off {within} min after the bead begins; seal it in parts"
        );
    }
    let opens = |open: OpenMinutes, from: i32| open.0.iter().skip(from.max(0) as usize).any(|&open| open);
    if !opens(OpenMinutes::to_prime(day, joint), joint.mask) {
        let prime = joint.prime;
        return format!("no spell of {prime} min fit for priming after masking and before {until}");
    }
    if !opens(OpenMinutes::to_gun(day, joint), joint.mask + joint.prime + earliest) {
        let gun = joint.gun;
        return format!(
            "no spell of {gun} min fit for gunning once the primer has waited {earliest} min, before {until}"
        );
    }
    if !problem.able(index) {
        return format!(
            "no spell fit for priming with one fit for gunning inside its window (after {earliest} min, within {latest} \
             min), no rain between them and done before {until}"
        );
    }
    format!("no time left: a crew of {} has no room for it beside the joints planned", day.crew)
}

fn primed_before(day: &Day, problem: &Problem, joint: &Joint, index: usize, primed: i32) -> String {
    let at = clock(day, primed);
    let closes = clock(day, primed.saturating_add(day.window.latest));
    if !problem.able(index) {
        return format!(
            "primed at {at}, with no spell fit for gunning before its window closes at {closes}: mask and prime it again"
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
