//! The questions of a step as they are put to a person: limit and basis, batches on offer, how far out an answer is.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::building::SubjectIx;
use crate::day::facts::number;
use crate::day::rules::judge_answer;
use crate::day::state::{Choice, State};
use crate::materials::product::{Amount, counted};
use crate::moment::dated;
use crate::record::Answer;
use crate::sequence::{Ask, AskKind, CountsFrom, StepIx};
use crate::setout::square::is_of_wall;
use crate::units::number::show;

/// Whether the last record of a step on a subject was out of tolerance.
pub fn is_failing(state: &State, step: StepIx, subject: SubjectIx) -> bool {
    state.done(step, subject).last().is_some_and(|done| done.is_out_of_tolerance())
}

/// The place of the first of the subjects that another step checks before work goes on: level is read on every third
/// course, say. The first of all where none is.
pub fn next_checked(state: &State, step: StepIx, subjects: &[SubjectIx]) -> usize {
    let sequence = state.sequence();
    let checks = |index: &StepIx| {
        let check = &sequence.steps[*index];
        check.on == sequence.steps[step].on && check.every.is_some() && check.after.contains(&step)
    };
    let checks: Vec<StepIx> = sequence.steps.indexes().filter(checks).collect();
    let is_checked = |subject: &SubjectIx| checks.iter().any(|check| state.asked_of(*check, *subject));
    subjects.iter().position(is_checked).unwrap_or(0)
}

/// Whether a window counts from the beginning of a step, which then has to be known.
pub fn counts_from_its_beginning(state: &State, step: StepIx) -> bool {
    let mut windows = state.sequence().windows.iter();
    windows.any(|window| window.from == step && window.counts_from == CountsFrom::Beginning)
}

/// A question as it is put for one subject: with the tolerance that a kept plan gives, or not at all.
pub fn planned_ask(state: &State, step: StepIx, ask: &Ask, subject: SubjectIx) -> Option<Arc<Ask>> {
    state.asks(step, subject).into_iter().find(|found| found.key == ask.key)
}

/// The tolerance, before anything is typed: "Required: at most 3 mm."
pub fn required_words(ask: &Ask) -> Option<String> {
    // That yes is in order needs no saying.
    let words = if ask.kind == AskKind::YesNo { String::new() } else { ask.tolerance_words() };
    (!words.is_empty()).then(|| format!("Required: {words}."))
}

/// What the tolerance rests on: "Basis: common practice: …."
pub fn basis_words(ask: &Ask) -> Option<String> {
    ask.basis.as_ref().map(|basis| format!("Basis: {basis}."))
}

/// Both.
pub fn limit_line(ask: &Ask) -> Option<String> {
    let parts: Vec<String> = required_words(ask).into_iter().chain(basis_words(ask)).collect();
    (!parts.is_empty()).then(|| parts.join(" "))
}

/// How a measurement is typed, where that is not a plain number.
pub fn how_typed(ask: &Ask) -> Option<String> {
    ask.square_over?;
    Some(match ask.frame_mm {
        Some(width) => format!(
            "  Type both diagonals as read, such as 6552 6566. The frame counts as {} mm wide; of another width, type that \
             after them.",
            show(width)
        ),
        None => "  Type both diagonals and the width of the frame as read, such as 6552 6566 6000.".to_owned(),
    })
}

/// What was worked out from an answer, and whether it can be taken as it is: in tolerance, and of a frame that the wall may
/// have. Nothing where anything goes.
pub fn judged_words(ask: &Ask, answer: &Answer) -> Option<(bool, String)> {
    let (held, doubt) = (judge_answer(ask, answer), off_wall(ask, answer));
    let out = || match (off_plan(ask, answer), out_by(ask, answer)) {
        (Some(off), _) => off,
        (None, Some(by)) => format!("Out by {by}"),
        (None, None) => "Out".to_owned(),
    };
    let judged = held.and_then(|held| match held {
        // Of what is chosen from a list nothing was measured.
        true if is_probably_a_slip(ask, answer) => ask.doubt_below.map(|least| {
            format!("In tolerance, but less than {} {} is hardly ever measured.", show(least), ask.unit())
        }),
        true => (ask.kind != AskKind::Choice).then(|| "In tolerance.".to_owned()),
        false => Some(format!("{}; required: {}. This opens a defect.", out(), ask.tolerance_words())),
    });
    let can_be_taken = held.unwrap_or(true) && doubt.is_none();
    let words: Vec<String> = worked_out(ask, answer).into_iter().chain(judged).chain(doubt).collect();
    (!words.is_empty()).then(|| (can_be_taken, words.join(" ")))
}

/// What follows from the diagonals of a frame: its height shows a slip of the tape.
fn worked_out(ask: &Ask, answer: &Answer) -> Option<String> {
    let (Answer::Frame(frame), Some(over)) = (answer, ask.square_over) else { return None };
    let found = frame.out_of_square(over).ok()?;
    let (out, over, high) = (show(found.out_mm), show(over), show(found.height_mm.round()));
    Some(format!("{out} mm in {over} mm of height, on a frame {high} mm high."))
}

/// That no frame of the wall is as high as the diagonals give it: they were misread, or are of a bay whose width was not typed.
fn off_wall(ask: &Ask, answer: &Answer) -> Option<String> {
    let (Answer::Frame(frame), Some((lowest, highest))) = (answer, ask.wall_heights_mm) else { return None };
    let found = frame.out_of_square(ask.square_over?).ok()?;
    let measured = frame.height_mm.is_some();
    (!measured && !is_of_wall(found.height_mm, (lowest, highest))).then(|| {
        let high = match lowest == highest {
            true => show(lowest),
            false => format!("{} to {}", show(lowest), show(highest)),
        };
        format!("The wall is {high} mm high: read both diagonals again, or type the width of the frame after them.")
    })
}

/// How far a number is out of tolerance; to a thousandth: what decimal subtraction leaves after that is not a measurement.
fn beyond(ask: &Ask, answer: &Answer) -> Option<f64> {
    let value = number(ask, answer)?;
    let over = ask.tolerance.most.map(|most| value - most).filter(|over| *over > 0.0);
    let under = ask.tolerance.least.map(|least| least - value).filter(|under| *under > 0.0);
    Some((over.or(under)? * 1000.0).round() / 1000.0).filter(|by| *by > 0.0)
}

/// The same with its unit.
fn out_by(ask: &Ask, answer: &Answer) -> Option<String> {
    beyond(ask, answer).map(|by| format!("{} {}", show(by), ask.unit()).trim_end().to_owned())
}

/// How far a number lies from what was planned: whoever puts it right starts from there.
fn off_plan(ask: &Ask, answer: &Answer) -> Option<String> {
    let off = number(ask, answer)? - ask.planned_value?;
    let words = if off > 0.0 { "more" } else { "less" };
    Some(format!("{} {} {words} than planned", show(off.abs()), ask.unit()))
}

/// Times its tolerance that a measurement may be out before it is taken for a slip; common practice, no source.
const SLIP: f64 = 10.0;

/// Whether a number is so far out or so seldom measured, or a frame so unlike its wall, that it was probably mistyped.
pub fn is_probably_a_slip(ask: &Ask, answer: &Answer) -> bool {
    let is_rare = ask.doubt_below.zip(number(ask, answer)).is_some_and(|(least, value)| value < least);
    if is_rare || off_wall(ask, answer).is_some() {
        return true;
    }
    let allowed = match ask.planned_value {
        Some(_) => ask.within,
        None => {
            ask.tolerance.most.into_iter().chain(ask.tolerance.least).fold(0.0, |most, bound| bound.abs().max(most))
        }
    };
    beyond(ask, answer).is_some_and(|by| by > SLIP * allowed)
}

/// What was last read off the label for this question: mostly it is still the same tin.
pub fn last_label(state: &State, ask: &Ask) -> Option<String> {
    if ask.kind != AskKind::Batch {
        return None;
    }
    let all = state.work().flat_map(|(step, subject)| state.done(step, subject));
    all.filter_map(|done| match done.answer(&ask.key).map(|judged| &judged.answer) {
        Some(Answer::Words(words)) => Some((done.at, words)),
        _ => None,
    })
    .max_by_key(|(at, _)| *at)
    .map(|(_, words)| words.clone())
}

/// A batch on offer: "SL-417: 12 cartridges left, use by 30 Nov 2026, in use on this wall".
pub fn offer_words(choice: &Choice, today: NaiveDate) -> String {
    let mut about = Vec::new();
    about.extend(choice.colour.clone());
    about.push(if choice.left > Amount::NONE {
        format!("{} left", counted(choice.left, &choice.unit))
    } else {
        "should be used up".to_owned()
    });
    about.extend(choice.expires.map(|last| {
        let word = if last < today { "EXPIRED" } else { "use by" };
        format!("{word} {}", dated(last))
    }));
    if choice.in_use {
        about.push("in use on this wall".to_owned());
    }
    format!("{}: {}", choice.batch, about.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_far_a_number_is_out_is_said_where_it_is_something() {
        let sequence = crate::sequence::read(include_str!("../../../tests/rules/small.toml")).unwrap();
        // At most 3 mm.
        let ask = &sequence.steps[sequence.step("frame").unwrap()].asks[0];
        assert_eq!(out_by(ask, &Answer::Number(5.5)).as_deref(), Some("2.5 mm"));
        assert_eq!(out_by(ask, &Answer::Number(3.0)), None);
        assert_eq!(out_by(ask, &Answer::Number(3.000_000_000_1)), None, "not by 0 mm");
    }
}
