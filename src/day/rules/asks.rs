//! R8: answers, read as their ask wants them and judged against its tolerance.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::record::Answer;
use crate::sequence::{Ask, AskKind, Step};
use crate::units::number::{shortened, show, show_beside};
use crate::units::{Bounds, NumberError, OutOfRange, bounds, parse_count, parse_decimal};

/// Longest text that is taken as an answer.
const MOST_WORDS: usize = 2000;

/// What of a percentage or a count is taken at all.
const PERCENT: Bounds = Bounds { what: "percentage", unit: "%", least: 0.0, most: 100.0 };
const COUNT: Bounds = Bounds { what: "count", unit: "", least: 0.0, most: 100_000.0 };

/// Why an answer was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AnswerError {
    /// No such question.
    #[error("step {step} does not ask '{key}'; it asks {asks}")]
    NotAsked {
        /// The step.
        step: String,
        /// What was answered.
        key: String,
        /// What is asked.
        asks: String,
    },
    /// Questions left open.
    #[error("step {step} is not fully answered: {missing}")]
    Missing {
        /// The step.
        step: String,
        /// Each open question with its key.
        missing: String,
    },
    /// Not a number.
    #[error("{key}: {error}")]
    Number {
        /// The ask.
        key: String,
        /// What is wrong.
        error: NumberError,
    },
    /// A number that nothing on a site can have.
    #[error("{key}: {error}")]
    Range {
        /// The ask.
        key: String,
        /// What is wrong.
        error: OutOfRange,
    },
    /// A minus where only a size is measured.
    #[error("{key}: {given} can't be negative")]
    Minus {
        /// The ask.
        key: String,
        /// What was given.
        given: String,
    },
    /// Not one of the words.
    #[error("{key}: '{given}' is not an answer; it is {words}")]
    Word {
        /// The ask.
        key: String,
        /// What was given.
        given: String,
        /// The words.
        words: String,
    },
    /// Nothing, or too much.
    #[error("{key}: {why}")]
    Text {
        /// The ask.
        key: String,
        /// What is wrong.
        why: String,
    },
}

/// Reads an answer as it was typed.
///
/// # Errors
/// [`AnswerError`], worded for the person who typed it.
pub fn answer_from_text(ask: &Ask, text: &str) -> Result<Answer, AnswerError> {
    let key = || ask.key.clone();
    let text = text.trim();
    let measured = |bounds: &Bounds| -> Result<Answer, AnswerError> {
        let value = parse_decimal(text).map_err(|error| AnswerError::Number { key: key(), error })?;
        bounds.check(value).map_err(|error| AnswerError::Range { key: key(), error })?;
        let signed = ask.tolerance.least.is_some_and(|least| least < 0.0)
            || matches!(ask.kind, AskKind::Temperature | AskKind::Angle);
        if value < 0.0 && !signed {
            return Err(AnswerError::Minus { key: key(), given: show(value) });
        }
        Ok(Answer::Number(value))
    };
    match ask.kind {
        AskKind::Length => measured(&bounds::LENGTH),
        AskKind::Angle => measured(&bounds::ANGLE),
        AskKind::Temperature => measured(&bounds::SURFACE),
        AskKind::Percent => measured(&PERCENT),
        AskKind::Count => {
            let count = parse_count(text).map_err(|error| AnswerError::Number { key: key(), error })?;
            COUNT.check(f64::from(count)).map_err(|error| AnswerError::Range { key: key(), error })?;
            Ok(Answer::Number(f64::from(count)))
        }
        AskKind::YesNo => match text.to_lowercase().as_str() {
            "y" | "yes" => Ok(Answer::Yes(true)),
            "n" | "no" => Ok(Answer::Yes(false)),
            _ => Err(AnswerError::Word { key: key(), given: shortened(text), words: "yes or no".into() }),
        },
        AskKind::Choice => match ask.choices.iter().find(|choice| choice.eq_ignore_ascii_case(text)) {
            Some(choice) => Ok(Answer::Words(choice.clone())),
            None => Err(AnswerError::Word { key: key(), given: shortened(text), words: ask.choices.join(", ") }),
        },
        AskKind::Text | AskKind::Photo | AskKind::Batch => {
            let length = text.chars().count();
            if text.is_empty() {
                Err(AnswerError::Text { key: key(), why: "is empty".into() })
            } else if length > MOST_WORDS {
                Err(AnswerError::Text { key: key(), why: format!("is {length} characters long, at most {MOST_WORDS}") })
            } else if text.chars().any(char::is_control) {
                Err(AnswerError::Text { key: key(), why: "has a control character in it".into() })
            } else {
                Ok(Answer::Words(text.to_owned()))
            }
        }
    }
}

/// Insists that only what the step asks is answered.
///
/// # Errors
/// [`AnswerError::NotAsked`].
pub(in crate::day) fn check_asked(step: &Step, answers: &BTreeMap<String, Answer>) -> Result<(), AnswerError> {
    match answers.keys().find(|key| !step.asks.iter().any(|ask| &ask.key == *key)) {
        None => Ok(()),
        Some(key) => {
            let asks: Vec<&str> = step.asks.iter().map(|ask| ask.key.as_str()).collect();
            let asks = if asks.is_empty() { "nothing".to_owned() } else { asks.join(", ") };
            Err(AnswerError::NotAsked { step: step.key.clone(), key: shortened(key), asks })
        }
    }
}

/// Insists that every question that needs an answer has one.
///
/// # Errors
/// [`AnswerError::Missing`].
pub(in crate::day) fn check_answered(
    step: &Step,
    asks: &[Arc<Ask>],
    answers: &BTreeMap<String, Answer>,
) -> Result<(), AnswerError> {
    let missing: Vec<String> = asks
        .iter()
        .filter(|ask| !ask.optional && !answers.contains_key(&ask.key))
        .map(|ask| match ask.planned {
            None => format!("--answer {}=… ({})", ask.key, ask.prompt),
            Some(_) => format!("--answer {}=… ({}; {})", ask.key, ask.prompt, ask.tolerance_words()),
        })
        .collect();
    if missing.is_empty() {
        Ok(())
    } else {
        Err(AnswerError::Missing { step: step.key.clone(), missing: missing.join(", ") })
    }
}

/// Whether an answer is in tolerance; `None` where anything goes.
///
/// Numbers are compared as they were typed: 30.2 lies within 32.2 ± 2.
pub fn judge_answer(ask: &Ask, answer: &Answer) -> Option<bool> {
    let tolerance = &ask.tolerance;
    match answer {
        Answer::Number(value) => (tolerance.least.is_some() || tolerance.most.is_some()).then(|| {
            tolerance.least.is_none_or(|least| *value >= least) && tolerance.most.is_none_or(|most| *value <= most)
        }),
        Answer::Yes(yes) => Some(*yes),
        Answer::Words(word) => (!tolerance.accept.is_empty()).then(|| tolerance.accept.contains(word)),
        Answer::File { .. } => None,
    }
}

/// What is wrong with an answer that is out of tolerance.
pub(in crate::day) fn out_of_tolerance(ask: &Ask, answer: &Answer) -> String {
    let unit = ask.unit();
    let given = match answer {
        Answer::Number(value) => {
            let bounds = [ask.tolerance.least, ask.tolerance.most];
            let shown = bounds.into_iter().flatten().map(|bound| show_beside(*value, bound));
            let shown = shown.max_by_key(String::len).unwrap_or_else(|| show(*value));
            if unit.is_empty() { shown } else { format!("{shown} {unit}") }
        }
        other => other.to_string(),
    };
    // A question keeps its mark; anything else is set off from its answer.
    let mark = if ask.prompt.ends_with('?') { "" } else { ":" };
    format!("{}{mark} {given}; wanted: {}", ask.prompt, ask.tolerance_words())
}
