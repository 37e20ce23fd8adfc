//! R8: answers, read as their ask wants them and judged against its tolerance.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::day::facts::number;
use crate::record::Answer;
use crate::sequence::{Ask, AskKind, Measure, Step};
use crate::setout::square::{FrameRead, SquareError};
use crate::units::number::{shortened, show, show_beside, with_point};
use crate::units::{NumberError, OutOfRange, bounds, parse_count, parse_decimal};

/// Longest text that is taken as an answer.
const MOST_WORDS: usize = 2000;

/// Why an answer was not taken, worded for the person who typed it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AnswerError {
    /// It is none.
    #[error("{key}: {error}")]
    Wrong {
        /// Key of the question.
        key: String,
        /// What to type instead.
        error: NoAnswer,
    },
    /// It answers nothing that is asked.
    #[error("step {step} does not ask '{}'; it asks {asks}", shortened(key))]
    NotAsked {
        /// Key of the step.
        step: String,
        /// Key of what was answered.
        key: String,
        /// What it asks.
        asks: String,
    },
    /// Questions of a step have none.
    #[error("step {step} still needs: {}", as_options(questions))]
    Missing {
        /// Key of the step.
        step: String,
        /// The questions.
        questions: Vec<Unanswered>,
    },
}

/// Why what was typed is no answer to a question: what to type instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoAnswer {
    /// It is no number.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// No such thing is measured.
    #[error(transparent)]
    Range(#[from] OutOfRange),
    /// It is below zero, where nothing is.
    #[error("{} can't be negative", show(*.0))]
    Negative(f64),
    /// It is none of the words.
    #[error("'{}' is not an answer; it is {words}", shortened(given))]
    NotOneOf {
        /// What was typed.
        given: String,
        /// The words.
        words: String,
    },
    /// It answers another question.
    #[error("'{0}' is no batch label: type what stands on it")]
    NotALabel(String),
    /// Nothing was typed.
    #[error("is empty")]
    Empty,
    /// It has so many characters.
    #[error("is {0} characters long, at most {MOST_WORDS}")]
    TooLong(usize),
    /// It has one in it.
    #[error("has a control character in it")]
    ControlCharacter,
    /// These are diagonals, and nothing says how wide the frame is.
    #[error(
        "the job does not say how long this wall is: type the width of the frame after the diagonals, as in {0} 6000"
    )]
    NoWidth(String),
    /// These are not the lengths of a frame.
    #[error("type both diagonals of the frame, such as 6552 6566")]
    NotAFrame,
    /// There is no such frame.
    #[error(transparent)]
    Frame(#[from] SquareError),
}

/// A question that has no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unanswered {
    /// Its key.
    pub key: String,
    /// What is asked, and what the job's own plans require of it.
    pub asks: String,
}

/// Questions as the command line is given their answers.
fn as_options(questions: &[Unanswered]) -> String {
    let option = |Unanswered { key, asks }: &Unanswered| format!("--answer {key}=… ({asks})");
    questions.iter().map(option).collect::<Vec<_>>().join(", ")
}

/// Reads an answer as it was typed.
///
/// # Errors
/// [`NoAnswer`].
pub fn answer_typed(ask: &Ask, text: &str) -> Result<Answer, NoAnswer> {
    let text = text.trim();
    let none_of = |words: String| Err(NoAnswer::NotOneOf { given: text.to_owned(), words });
    match ask.kind {
        AskKind::Measured(_) if ask.square_over.is_some() && frame_lengths(text).count() != 1 => frame(ask, text),
        AskKind::Measured(measure) => {
            let count = || parse_count(text).map(f64::from);
            let value = if measure == Measure::Count { count() } else { parse_decimal(text) };
            let value = measure.bounds().check(value?)?;
            let fits = value >= 0.0 || ask.may_be_negative();
            if fits { Ok(Answer::Number(value)) } else { Err(NoAnswer::Negative(value)) }
        }
        AskKind::YesNo => match text.to_lowercase().as_str() {
            "y" | "yes" => Ok(Answer::Yes(true)),
            "n" | "no" => Ok(Answer::Yes(false)),
            _ => none_of("yes or no".to_owned()),
        },
        AskKind::Choice => match ask.choices.iter().find(|choice| choice.eq_ignore_ascii_case(text)) {
            Some(choice) => Ok(Answer::Words(choice.clone())),
            None => none_of(ask.choices.join(", ")),
        },
        AskKind::Text | AskKind::Photo | AskKind::Batch => match text.chars().count() {
            0 => Err(NoAnswer::Empty),
            length if length > MOST_WORDS => Err(NoAnswer::TooLong(length)),
            _ if text.chars().any(char::is_control) => Err(NoAnswer::ControlCharacter),
            _ if ask.kind == AskKind::Batch && ["y", "n", "yes", "no"].contains(&&*text.to_lowercase()) => {
                Err(NoAnswer::NotALabel(text.to_owned()))
            }
            _ => Ok(Answer::Words(text.to_owned())),
        },
    }
}

/// The lengths of a frame as people write them: apart by a space, a comma with a space, or an x.
fn frame_lengths(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|c: char| c.is_whitespace() || matches!(c, 'x' | 'X' | '×' | ';'));
    words.map(|word| word.trim_end_matches(',').trim_end_matches("mm")).filter(|word| !word.is_empty())
}

/// Both diagonals of a frame, then its width and its height where they are given.
fn frame(ask: &Ask, text: &str) -> Result<Answer, NoAnswer> {
    let length = |word: &str| Ok(bounds::LENGTH.check(parse_decimal(&with_point(word))?)?);
    let lengths = frame_lengths(text).map(length).collect::<Result<Vec<f64>, NoAnswer>>()?;
    let (first, second, width, height) = match (lengths.as_slice(), ask.frame_mm) {
        ([first, second], Some(width)) => (first, second, width, None),
        ([_, _], None) => return Err(NoAnswer::NoWidth(text.to_owned())),
        ([first, second, width], _) => (first, second, *width, None),
        ([first, second, width, height], _) => (first, second, *width, Some(*height)),
        _ => return Err(NoAnswer::NotAFrame),
    };
    let frame = FrameRead { diagonals_mm: [*first, *second], width_mm: width, height_mm: height };
    frame.out_of_square(ask.square_over.unwrap_or(1.0))?;
    Ok(Answer::Frame(frame))
}

/// Insists that only what the step asks is answered.
///
/// # Errors
/// [`AnswerError`], naming what is asked.
pub(in crate::day) fn check_asked(step: &Step, answers: &BTreeMap<String, Answer>) -> Result<(), AnswerError> {
    match answers.keys().find(|key| !step.asks.iter().any(|ask| &ask.key == *key)) {
        None => Ok(()),
        Some(key) => {
            let asks: Vec<&str> = step.asks.iter().map(|ask| ask.key.as_str()).collect();
            let asks = if asks.is_empty() { "nothing".to_owned() } else { asks.join(", ") };
            Err(AnswerError::NotAsked { step: step.key.clone(), key: key.clone(), asks })
        }
    }
}

/// Insists that every question that needs an answer has one.
///
/// # Errors
/// [`AnswerError`], naming each question left open.
pub(in crate::day) fn check_answered(
    step: &Step,
    asks: &[Arc<Ask>],
    answers: &BTreeMap<String, Answer>,
) -> Result<(), AnswerError> {
    let missing = asks.iter().filter(|ask| !ask.optional && !answers.contains_key(&ask.key));
    let questions = missing.map(|ask| {
        let required = ask.planned.as_ref().map(|_| format!("; {}", ask.tolerance_words()));
        Unanswered { key: ask.key.clone(), asks: format!("{}{}", ask.prompt, required.unwrap_or_default()) }
    });
    let questions: Vec<Unanswered> = questions.collect();
    if questions.is_empty() { Ok(()) } else { Err(AnswerError::Missing { step: step.key.clone(), questions }) }
}

/// Whether an answer is in tolerance; `None` where anything goes.
///
/// Numbers are compared as they were typed: 30.2 lies within 32.2 ± 2.
pub fn judge_answer(ask: &Ask, answer: &Answer) -> Option<bool> {
    let tolerance = &ask.tolerance;
    match answer {
        // Of a frame that can't be, nothing follows: it is not in tolerance.
        Answer::Number(_) | Answer::Frame(_) => (tolerance.least.is_some() || tolerance.most.is_some()).then(|| {
            number(ask, answer).is_some_and(|value| {
                tolerance.least.is_none_or(|least| value >= least) && tolerance.most.is_none_or(|most| value <= most)
            })
        }),
        Answer::Yes(yes) => Some(*yes),
        Answer::Words(word) => (!tolerance.accept.is_empty()).then(|| tolerance.accept.contains(word)),
        Answer::File { .. } => None,
    }
}

/// What is wrong with an answer that is out of tolerance.
pub(in crate::day) fn out_of_tolerance(ask: &Ask, answer: &Answer) -> String {
    let unit = ask.unit();
    let given = match number(ask, answer) {
        Some(value) => {
            let bounds = [ask.tolerance.least, ask.tolerance.most];
            let shown = bounds.into_iter().flatten().map(|bound| show_beside(value, bound));
            let shown = shown.max_by_key(String::len).unwrap_or_else(|| show(value));
            let read = if let Answer::Frame(frame) = answer { format!(" ({frame})") } else { String::new() };
            if unit.is_empty() { shown } else { format!("{shown} {unit}{read}") }
        }
        None => answer.to_string(),
    };
    // A question keeps its mark; anything else is set off from its answer.
    let mark = if ask.prompt.ends_with('?') { "" } else { ":" };
    format!("{}{mark} {given}; required: {}", ask.prompt, ask.tolerance_words())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_to_another_question_is_no_batch_label() {
        let sequence = crate::sequence::read(include_str!("../../../tests/rules/small.toml")).unwrap();
        let ask = Ask { kind: AskKind::Batch, ..Ask::clone(&sequence.steps[sequence.step("frame").unwrap()].asks[0]) };
        for typed in ["y", "N", "yes", " no "] {
            assert_eq!(answer_typed(&ask, typed), Err(NoAnswer::NotALabel(typed.trim().to_owned())));
        }
        assert!(answer_typed(&ask, "N2").is_ok() && answer_typed(&ask, "417").is_ok());
    }
}
