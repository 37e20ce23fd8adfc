//! The answers of the set-up: each is kept by its question, so that one can be taken back or given again and only what
//! follows from it is asked anew.

use std::collections::BTreeMap;

use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Prompt, Terminal};

/// Why a question has no answer.
pub enum Stop {
    /// The one before it is to be asked again.
    Back,
    /// The terminal is gone, or the person.
    Failure(Failure),
}

impl From<Failure> for Stop {
    fn from(failure: Failure) -> Self {
        Self::Failure(failure)
    }
}

/// What was answered, by question.
#[derive(Default)]
pub struct Answers {
    given: BTreeMap<String, String>,
    /// The questions of this run through them, in turn.
    asked: Vec<String>,
}

impl Answers {
    /// Begins again from the first question: what is answered is not asked.
    pub fn rewind(&mut self) {
        self.asked.clear();
    }

    /// Forgets the last answer.
    pub fn take_back(&mut self) {
        while let Some(question) = self.asked.pop() {
            if self.given.remove(&question).is_some() {
                break;
            }
        }
    }

    /// Forgets the answer to a question.
    pub fn forget(&mut self, question: &str) {
        self.given.remove(question);
    }

    /// Questions with their answers, in turn.
    pub fn list(&self) -> Vec<(&str, &str)> {
        self.asked
            .iter()
            .filter_map(|asked| self.given.get_key_value(asked))
            .map(|(q, a)| (q.as_str(), a.as_str()))
            .collect()
    }
}

impl Asker for Answers {
    type Stop = Stop;

    fn read(&mut self, prompt: &Prompt) -> Result<Option<String>, Stop> {
        match Terminal.read(prompt)? {
            Some(text) if text.eq_ignore_ascii_case("back") => Err(Stop::Back),
            text => Ok(text),
        }
    }

    fn answered(&mut self, asked: &Prompt, fits: &dyn Fn(&str) -> bool) -> Option<String> {
        self.asked.push(asked.text.clone());
        // What other answers have made impossible since is asked again.
        self.given.get(&asked.text).filter(|typed| fits(typed)).cloned()
    }

    fn note_answer(&mut self, asked: &Prompt, typed: &str) {
        self.given.insert(asked.text.clone(), typed.to_owned());
    }
}
